package greenhouse

import (
	"math"

	"loambank/controller/weather"
)

const (
	stefan = 5.670374419e-8 // W/(m² K⁴); CODATA 2018
	zeroK  = 273.15

	filmReflects = 0.1  // thermal radiation; usual value, no source
	floorEmits   = 0.95 // leaves and soil; usual value, no source
	// skyView is how much of the half sphere before a round roof is sky: the mean of (1 + cos β)/2
	// over its slopes from 0 to 90°.
	skyView = 0.5 + 1/math.Pi
	// usualWindMS stands in where a file has no wind.
	usualWindMS = 3.0
)

// radiation is the coefficient of thermal radiation between two black surfaces, W/(m² K), so that
// it times their difference is exactly σ(a⁴ − b⁴) at these temperatures.
func radiation(aC, bC float64) float64 {
	a, b := aC+zeroK, bC+zeroK
	return stefan * (a*a + b*b) * (a + b)
}

// windWm2K is the coefficient between a film and the wind: 2.8 + 3 v. J. H. Watmuff, W. W. S.
// Charters and D. Proctor 1977, Solar and wind induced external coefficients, COMPLES 2:56; v up to
// 5 m/s, used beyond. From memory.
func windWm2K(windMS float64) float64 { return 2.8 + 3*windMS }

// insideWm2K is the coefficient between air and the inside of a cover, 1.95 ΔT^0.3. G. Papadakis,
// A. Frangoudakis and S. Kyritsis 1992, Journal of Agricultural Engineering Research 51:191–205,
// from memory. Mixing fans keep it over one.
func insideWm2K(differenceK float64) float64 {
	return max(1, 1.95*math.Pow(math.Abs(differenceK), 0.3))
}

// Between films air turns, and blown films touch at hips and ends; no source but
// that the whole cover then loses what tables say (greenhouse-S007, S009, S011).
const (
	gapWm2K    = 2.6
	screenWm2K = 2.2
)

// layers is the cover in one step: conductances, W/K.
type layers struct {
	n         int
	inner     int // the innermost
	outsideWK float64
	outC      float64
	skyWK     float64 // of the outermost to its surroundings
	skyC      float64 // as which sky and neighbourhood radiate
	between   [2]float64
	floorWK   [3]float64 // of black floor to each layer, as it was
	throughWK float64    // of black floor to the sky, through all
	airWK     float64    // of air to the innermost
	vapourKgS float64    // to the innermost while it is wet, for a difference of humidity ratio of one
}

// outdoors is what the sky and everything beside the house radiate on it, as a temperature.
func outdoors(w *weather.Sample) float64 {
	k := float64(w.Outside) + zeroK
	sky := w.SkyWm2
	if !w.Have.Has(weather.Sky) {
		sky = clearSkyWm2(w)
	}
	return math.Sqrt(math.Sqrt((skyView*sky+(1-skyView)*stefan*k*k*k*k)/stefan)) - zeroK
}

func (h *House) closed(w *weather.Sample) bool { return w.GlobalWm2 < h.p.Cover.Screen.UnderWm2 }

// layers finds what the cover lets pass at the temperatures that the last step left.
func (h *House) layers(w *weather.Sample, windMS float64) layers {
	c := &h.p.Cover
	thermal := [3]float64{c.Thermal, c.Thermal, c.Thermal}
	l := layers{n: c.Films}
	if h.closed(w) {
		thermal[l.n] = c.Screen.Thermal
		l.n++
	}
	l.inner = l.n - 1
	at := func(i int) float64 { return float64(h.st.Cover[i]) }
	emits := func(i int) float64 { return 1 - filmReflects - thermal[i]*(1-filmReflects) }

	l.outC, l.skyC = float64(w.Outside), outdoors(w)
	l.outsideWK = windWm2K(windMS) * h.p.CoverM2
	l.skyWK = emits(0) * radiation(at(0), l.skyC) * h.p.CoverM2
	for i := range l.inner {
		gap := gapWm2K
		if i+1 == c.Films {
			gap = screenWm2K
		}
		pair := 1 / (1/emits(i) + 1/emits(i+1) - 1)
		l.between[i] = (gap + pair*radiation(at(i), at(i+1))) * h.p.CoverM2
	}
	// What leaves and soil radiate meets the innermost layer first; what passes goes on outwards.
	leftWm2 := floorEmits
	floorC := float64(h.st.Air)
	for i := l.inner; i >= 0; i-- {
		l.floorWK[i] = leftWm2 * emits(i) * radiation(floorC, at(i))
		leftWm2 *= thermal[i]
	}
	l.throughWK = leftWm2 * radiation(floorC, l.skyC)
	coefficient := insideWm2K(float64(h.st.Air.Sub(h.st.Cover[l.inner])))
	l.airWK = coefficient * h.p.CoverM2
	l.vapourKgS = l.airWK / dryAirJkgK // Lewis number 1
	return l
}

// clearSkyWm2 is the thermal radiation of a clear sky where a file says nothing: emissivity
// 0.711 + 0.56 d + 0.73 d², d the dew point in hundreds of °C; P. Berdahl and M. Martin 1984, Solar
// Energy 32:663–664, from memory. Cloud fills up four fifths of what is missing; no source.
func clearSkyWm2(w *weather.Sample) float64 {
	d := float64(dewPoint(w)) / 100
	clear := 0.711 + 0.56*d + 0.73*d*d
	k := float64(w.Outside) + zeroK
	return (clear + (1-clear)*0.8*w.Cloud) * stefan * k * k * k * k
}
