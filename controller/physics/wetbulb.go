package physics

import (
	"math"

	"loambank/config/unit"
)

// bulb is what cools a thermometer: liquid water or ice. Its heat is that of ASHRAE
// Fundamentals 2017, ch. 1, eq. 33 (water) and eq. 35 (ice): J/kg at 0 °C, and J/(kg K).
type bulb struct {
	lnSat               func(k float64) (ln, slope float64)
	heat, lessKg, lessW float64
}

func wetOrIced(iced bool) bulb {
	if iced {
		return bulb{lnSatIce, 2830e3, 240, 2100}
	}
	return bulb{lnSatWater, vaporise, 2326, cpWater}
}

// gap returns how much more heat the bulb at c, °C, would take from air at t than w in the air
// allows, J/kg, and its derivative in c, J/(kg K). The gap grows with c and is convex.
func (b bulb) gap(c, t, w, pPa float64) (gap, slope float64) {
	ln, lnSlope := b.lnSat(c + zeroK)
	pw := math.Exp(ln)
	ratio := RatioAtVapour(pw, pPa)
	ratioSlope := 0.0
	if pw < 0.9*pPa {
		ratioSlope = ratio * lnSlope * pPa / (pPa - pw)
	}
	gap = (b.heat-b.lessKg*c)*ratio - cpAir*(t-c) - w*(b.heat+cpVapour*t-b.lessW*c)
	slope = (b.heat-b.lessKg*c)*ratioSlope - b.lessKg*ratio + cpAir + w*b.lessW
	return gap, slope
}

// WetBulb returns the thermodynamic wet-bulb temperature of air at t that holds w, the iced bulb's
// below 0 °C; saturated air has its own temperature. Just over 0 °C both a wet and an iced bulb
// have a solution, and the wet one is returned. ASHRAE Fundamentals 2017, ch. 1, eq. 33 and 35;
// −100 °C to 99 °C, to 1 µK.
func WetBulb(t unit.Celsius, w, pPa float64) unit.Celsius {
	const lowest, highest = -100, 99
	dry := min(max(float64(t), lowest), highest)
	w = max(w, 0)
	low, high := float64(lowest), dry
	b := wetOrIced(true)
	if dry > 0 {
		b = wetOrIced(false)
		if gap, _ := b.gap(0, dry, w, pPa); gap > 0 {
			b, high = wetOrIced(true), 0
		} else {
			low = 0
		}
	}
	c := high
	for range 60 {
		gap, slope := b.gap(c, dry, w, pPa)
		if gap > 0 {
			high = c
		} else {
			low = c
		}
		next := c - gap/slope
		if !(next >= low && next <= high) {
			next = (low + high) / 2
		}
		if math.Abs(next-c) < 1e-6 {
			return unit.Celsius(next)
		}
		c = next
	}
	return unit.Celsius(c)
}

// RatioAtWetBulb returns the humidity ratio of air at t whose thermodynamic wet bulb stands at
// wet, 0 where air that dry does not exist; wet is at most t. The inverse of WetBulb, from the
// same equations: over ice below 0 °C.
func RatioAtWetBulb(t, wet unit.Celsius, pPa float64) float64 {
	dry := min(max(float64(t), -100), 99)
	c := min(max(float64(wet), -100), dry)
	b := wetOrIced(c < 0)
	ln, _ := b.lnSat(c + zeroK)
	ratio := RatioAtVapour(math.Exp(ln), pPa)
	w := ((b.heat-b.lessKg*c)*ratio - cpAir*(dry-c)) / (b.heat + cpVapour*dry - b.lessW*c)
	return max(w, 0)
}
