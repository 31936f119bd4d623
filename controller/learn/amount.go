package learn

import "math"

// mostLeftH is how far ahead the soil is reckoned, h.
const mostLeftH = 240

// until is how long soil over its useful temperature by overK lasts while drawW leaves it, h: the same
// soil that day learns from, to which heat comes and from which it is taken with the lag to the between
// probe. lasts says that it is still over it after ten days.
func (q *StoreParams) until(soil Temp, overK, drawW, capacityJK, lagS float64) (hours float64, lasts bool) {
	const stepS = 900.0
	share := -math.Expm1(-stepS / lagS)
	arriving := q.Arriving * math.Exp(q.Soil.X[flowAt])
	loss, toRest := q.Soil.X[lossAt], 0.0 // K/s; of the soil as it is now
	if q.Base.Known {
		toRest = q.Soil.X[restAt] - loss*float64(soil.C.Sub(q.Base.C))
	}
	fallK := 0.0
	for hours < mostLeftH {
		before := arriving
		arriving += (-drawW - arriving) * share
		heatJ := -drawW*stepS - lagS*(arriving-before)
		gone := -heatJ/capacityJK - (toRest+loss*fallK)*stepS
		if fallK+gone >= overK {
			return hours + stepS/hourS*(overK-fallK)/gone, false
		}
		fallK += gone
		hours += stepS / hourS
	}
	return hours, true
}
