package physics

import "math"

// BuriedPipeM returns the shape factor of a level pipe depthM (of its axis) under a surface of even
// temperature: the heat that flows steadily is S k ΔT. S = 2 π L/acosh(2 z/D); Incropera and
// DeWitt, table 4.1, case 2, for lengths well over the depth. 0 for a pipe that is not buried.
func BuriedPipeM(diameterM, depthM, lengthM float64) float64 {
	if !(2*depthM > diameterM && diameterM > 0) {
		return 0
	}
	return 2 * math.Pi * lengthM / math.Acosh(2*depthM/diameterM)
}

// BuriedRow returns the shape factor of each pipe of an endless row of level ones pitchM apart, for
// each metre: 2 π/ln(2 w/(π D) sinh(2 π z/w)). VDI Heat Atlas, sec. E1; for pitches and depths of
// at least twice the diameter. 0 for pipes that are not buried.
func BuriedRow(diameterM, pitchM, depthM float64) float64 {
	if !(2*depthM > diameterM && diameterM > 0 && pitchM > diameterM) {
		return 0
	}
	// ln sinh x = x + ln((1 − e^(−2x))/2), which a close row does not overflow.
	x := 2 * math.Pi * depthM / pitchM
	lnSinh := x + math.Log(-math.Expm1(-2*x)/2)
	return 2 * math.Pi / (math.Log(2*pitchM/(math.Pi*diameterM)) + lnSinh)
}

// AnnulusKmW returns the resistance of a ring of soil to heat between its inner and outer radius, for
// each metre of it, K m/W: ln(r₂/r₁)/(2 π k). Incropera and DeWitt, sec. 3.3.
func AnnulusKmW(innerM, outerM, conductivityWmK float64) float64 {
	return math.Log(outerM/innerM) / (2 * math.Pi * conductivityWmK)
}
