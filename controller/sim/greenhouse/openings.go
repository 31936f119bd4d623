package greenhouse

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
	"loambank/controller/weather"
)

func dewPoint(w *weather.Sample) unit.Celsius {
	return physics.DewPoint(vapourPa(w.Vapour, w.PressurePa))
}

// leakKgS is the dry air that leaks in and out: twice as much in a wind of 15 mph, greenhouse-S013.
func (h *House) leakKgS(windMS float64) float64 {
	const doubles = 6.7 // m/s
	return h.airKg * h.p.LeakPerH / 3600 * (1 + windMS/doubles)
}

// vents opens the vents as far as their thermostat wants: its opening follows the air that it
// leaves. n is reduced; openWK is the heat that a kg/s of outside air carries for each K.
func (h *House) vents(n *network, openJkgK, outC float64) (kgS float64) {
	v := &h.p.Vents
	d, heat := n.g[airNode][airNode], n.w[airNode]
	opens, band := float64(v.OpensAt), float64(v.Band)
	if v.PerH <= 0 || heat <= d*opens {
		return 0
	}
	most := h.airKg * v.PerH / 3600
	g := most * openJkgK
	// With share x open the air is at opens + band x, and (d + g x)(opens + band x) = heat + g x out.
	a, b, c := g*band, d*band+g*(opens-outC), d*opens-heat
	var x float64
	switch {
	case a > 0:
		x = (math.Sqrt(b*b-4*a*c) - b) / (2 * a)
	case b > 0:
		x = -c / b
	default:
		x = 1 // no band, and warmer outside
	}
	return most * min(x, 1)
}

// heater runs the heater for as much of the step as its thermostat wants, and returns its heat, W.
// n is reduced, with open vents.
func (h *House) heater(n *network) float64 {
	p := &h.p.Heater
	air := n.air()
	if p.OutputW <= 0 || !h.st.Heating && air >= float64(p.Setpoint) {
		h.st.Heating = false
		return 0
	}
	until := float64(p.Setpoint.Add(p.Band))
	wantW := (until - air) * n.g[airNode][airNode]
	h.st.Heating = wantW > p.OutputW
	return min(max(0, wantW), p.OutputW)
}
