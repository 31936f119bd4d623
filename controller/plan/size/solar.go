package size

import (
	"math"
	"time"

	"loambank/config"
	"loambank/controller/physics"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

const (
	groundThrowsBack = 0.2 // of the light: bare ground and grass, common practice
	hoursADay        = 24
)

// Yield returns what a kilowatt of panels gives in each hour of the year, kWh, tilted as many degrees
// as the place's latitude, rounded, and facing the equator. Light by Hay and Davies' sky, power by
// PVWatts 5 (see physics.HayDavies and physics.Photovoltaic).
func Yield(y *weather.Year) ([]float64, error) {
	samples, err := y.Resample(time.Hour)
	if err != nil {
		return nil, err
	}
	plane := physics.Surface{TiltDeg: math.Round(math.Abs(y.LatitudeDeg)), AzimuthDeg: 180}
	if y.LatitudeDeg < 0 {
		plane.AzimuthDeg = 0
	}
	panels := physics.UsualPhotovoltaic()
	start := y.Start()
	kWh := make([]float64, len(samples))
	for i := range samples {
		s := &samples[i]
		sun := physics.SunAt(float64(start.Unix()) + s.Day*86400)
		light := plane.HayDavies(physics.SkyLight{
			ElevationDeg: s.SunElevationDeg, AzimuthDeg: s.SunAzimuthDeg, DirectWm2: s.DirectWm2, DiffuseWm2: s.DiffuseWm2,
			ExtraterrestrialWm2: sun.ExtraterrestrialWm2(),
		}, groundThrowsBack)
		kWh[i] = panels.Yield(s.Outside, light.TotalWm2())
	}
	return kWh, nil
}

// Load returns the fans' electricity in each hour of the weather's year, kWh, from a traced year.
func Load(y *weather.Year, r *trial.Result) []float64 {
	load := make([]float64, len(y.Rows))
	for i := range r.Trace {
		at := r.Trace[i].Time.Add(-30 * time.Minute)
		load[min(y.Step(at, time.Hour), len(load)-1)] += r.Trace[i].FanKWh
	}
	return load
}

// Months adds up the hours of a year by calendar month.
func Months(y *weather.Year, hours []float64) (sum [12]float64) {
	for i := range hours {
		sum[y.Rows[i].Month-1] += hours[i]
	}
	return sum
}

// NetMetered is an array whose yield of a year is the fans' use, where the grid takes and gives at one
// price.
type NetMetered struct {
	ArrayKW float64
	// Own is the share of its yield that the fans use in the same hour, 0 to 1, and, since both are
	// as large, of their use that comes straight from it.
	Own float64
}

// ZeroBill returns the array for a yearly bill of zero. The zero value where fans use nothing or the
// sun gives nothing.
func ZeroBill(yield, load []float64) (n NetMetered) {
	var gives, uses, both float64
	for i := range yield {
		gives += yield[i]
		uses += load[i]
	}
	if gives <= 0 || uses <= 0 {
		return n
	}
	n.ArrayKW = uses / gives
	for i := range yield {
		both += min(n.ArrayKW*yield[i], load[i])
	}
	n.Own = both / uses
	return n
}

// OffGrid is an array with a battery and no grid.
type OffGrid struct {
	ArrayKW    float64
	BatteryKWh float64 // usable
	Lost       float64 // share of the fans' use that is not met, 0 to 1
	Cost       float64
}

// returns is the share of what goes into a battery that comes out again; lithium iron phosphate with
// its charger, common practice, no source.
const returns = 0.9

// mostYears bounds the years until a battery that began full ends one as it began.
const mostYears = 100

// Lost returns the share of a load that array and battery leave unmet in a year that follows others
// like it: the loss of load.
func Lost(yield, load []float64, arrayKW, batteryKWh float64) float64 {
	stored, unmet, uses := batteryKWh, 0.0, 0.0
	for range mostYears {
		began := stored
		unmet, uses = 0, 0
		for i := range yield {
			left := arrayKW*yield[i] - load[i]
			uses += load[i]
			switch {
			case left >= 0:
				stored = min(batteryKWh, stored+left*returns)
			case -left <= stored:
				stored += left
			default:
				unmet += -left - stored
				stored = 0
			}
		}
		if math.Abs(stored-began) < 1e-9*batteryKWh {
			break // it ends as it began: every year is like this
		}
	}
	if uses <= 0 {
		return 0
	}
	return unmet / uses
}

// Island returns the cheapest array with a battery of a quarter day to two weeks of the fans' mean use
// that loses no more than a share of their load, over 0 to 1. The zero value where fans use nothing or
// no array of 100 times the mean does.
func Island(yield, load []float64, lost float64, c config.Costs) (best OffGrid) {
	uses, gives := 0.0, 0.0
	for i := range load {
		uses += load[i]
		gives += yield[i]
	}
	if uses <= 0 || gives <= 0 {
		return best
	}
	days := uses / float64(len(load)) * hoursADay
	for _, store := range [...]float64{0.25, 0.5, 1, 1.5, 2, 3, 4, 5, 7, 10, 14} {
		low, high := 0.0, 100*uses/gives
		if Lost(yield, load, high, store*days) > lost {
			continue
		}
		for range 30 {
			if middle := (low + high) / 2; Lost(yield, load, middle, store*days) > lost {
				low = middle
			} else {
				high = middle
			}
		}
		cost := high*1000*c.SolarPerW + store*days*c.BatteryPerKWh
		if best.ArrayKW == 0 || cost < best.Cost {
			best = OffGrid{ArrayKW: high, BatteryKWh: store * days, Lost: Lost(yield, load, high, store*days), Cost: cost}
		}
	}
	return best
}
