package greenhouse

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/weather"
)

const (
	filmReflects = 0.1  // thermal radiation; usual value, no source
	floorEmits   = 0.95 // leaves and soil; usual value, no source
	// skyView is how much of the half sphere before a round roof is sky: the mean of (1 + cos β)/2
	// over its slopes from 0 to 90°.
	skyView = 0.5 + 1/math.Pi
	// These stand in where a file has no wind and neither sky nor clouds; no source.
	usualWindMS, usualCloud = 3.0, 0.5
)

// radiation is the coefficient of thermal radiation between two black surfaces, W/(m² K).
func radiation(aC, bC float64) float64 {
	return physics.RadiationWm2K(unit.Celsius(aC), unit.Celsius(bC), 1)
}

// The coefficients of a plastic tunnel's film: G. Papadakis, A. Frangoudakis and S. Kyritsis 1992,
// Mixed, forced and free convection heat transfer at the greenhouse cover, Journal of Agricultural
// Engineering Research 51:191–205, from memory.

// insideWm2K is that between air and the inside, 1.95 ΔT^0.3. Circulating fans keep it over one.
func insideWm2K(cover, air unit.Celsius) float64 {
	return max(1, 1.95*insidePower.At(math.Abs(float64(air.Sub(cover)))))
}

// outsideWm2K is that between the outside and wind of up to 6 m/s, used beyond: 0.95 + 6.76 v^0.49.
func outsideWm2K(windMS float64) float64 { return 0.95 + 6.76*outsidePower.At(windMS) }

var insidePower, outsidePower = physics.NewPower(0.3), physics.NewPower(0.49)

// gapWm2K is the coefficient of the air between films, and between film and screen. Air turns there,
// and blown films touch at hips and ends; no source but that whole covers then lose what tables say
// (greenhouse-S007 to S011).
const gapWm2K = 2.6

// layers is the cover in one step.
type layers struct {
	n           int
	inner       int // the innermost
	outsideWK   float64
	outC        float64
	skyWK       float64 // of the outermost to its surroundings
	skyC        float64 // as which sky and neighbourhood radiate
	between     [2]float64
	blackWm2K   [3]float64 // of black floor to each layer, as it was
	throughWm2K float64    // of black floor to the sky, through all
	airWK       float64    // of air to the innermost
	vapourKgS   float64    // to the innermost while it is wet, for a difference of humidity ratio of one
}

// outdoors is what the sky and everything beside the house radiate on it, as a temperature.
func outdoors(w *weather.Sample) float64 {
	around := physics.InfraredWm2(w.Outside)
	sky := w.SkyWm2
	if !w.Have.Has(weather.Sky) {
		dew := physics.DewPoint(physics.VapourPressurePa(w.Vapour, w.PressurePa))
		cloud := usualCloud
		if w.Have.Has(weather.Cloud) {
			cloud = w.Cloud
		}
		sky = physics.SkyEmissivity(dew, cloud) * around
	}
	return float64(physics.SkyFromInfrared(skyView*sky + (1-skyView)*around))
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
	l.outsideWK = outsideWm2K(windMS) * h.p.CoverM2
	l.skyWK = emits(0) * radiation(at(0), l.skyC) * h.p.CoverM2
	for i := range l.inner {
		pair := 1 / (1/emits(i) + 1/emits(i+1) - 1)
		l.between[i] = (gapWm2K + pair*radiation(at(i), at(i+1))) * h.p.CoverM2
	}
	// What leaves and soil radiate meets the innermost layer first; what passes goes on outwards.
	leftWm2 := floorEmits
	floorC := float64(h.st.Air)
	for i := l.inner; i >= 0; i-- {
		l.blackWm2K[i] = leftWm2 * emits(i) * radiation(floorC, at(i))
		leftWm2 *= thermal[i]
	}
	l.throughWm2K = leftWm2 * radiation(floorC, l.skyC)
	l.airWK = insideWm2K(h.st.Cover[l.inner], h.st.Air) * h.p.CoverM2
	l.vapourKgS = l.airWK / dryAirJkgK // Lewis number 1
	return l
}
