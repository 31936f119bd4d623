package greenhouse

import "math"

// vents opens the vents as far as their thermostat wants: its opening follows the air that it leaves.
// air is the air with closed vents.
func (h *House) vents(air node, o *Outdoors) (kgS float64) {
	v := &h.p.Vents
	d, heat := air.ownWK, air.heatW
	opens, band := float64(v.OpensAt), float64(v.Band)
	if v.PerH <= 0 || heat <= d*opens {
		return 0
	}
	most := v.PerH / h.perH
	g := most * o.openJkgK
	// With share x open the air is at opens + band x, and (d + g x)(opens + band x) = heat + g x out.
	a, b, c := g*band, d*band+g*(opens-float64(o.Outside)), d*opens-heat
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

// EvenHeater gives the thermostat no band: the heater holds the middle of what it was, as far as it can.
func (h *House) EvenHeater() {
	h.p.Heater.Setpoint = h.p.Heater.Setpoint.Add(h.p.Heater.Band / 2)
	h.p.Heater.Band = 0
}

// heater runs the heater for the share of the step that its thermostat wants, and returns its heat
// over the step, W. Temperatures are taken to run straight through the step: the air would end at off
// without it, and perW higher for each W.
func (h *House) heater(off, perW float64) float64 {
	p := &h.p.Heater
	if p.OutputW <= 0 {
		return 0
	}
	now, setpoint, until := float64(h.st.Air), float64(p.Setpoint), float64(p.Setpoint.Add(p.Band))
	on := off + p.OutputW*perW
	var share float64
	switch {
	case p.Band == 0: // it holds its setpoint to the step's end, as far as it can
		return p.OutputW * min(max(setpoint-off, 0)/(on-off), 1)
	case h.st.Heating && on <= until:
		return p.OutputW
	case h.st.Heating:
		h.st.Heating = false
		share = max(0, until-now) / max(on-now, on-until)
	case off >= setpoint:
		return 0
	default:
		h.st.Heating = true
		share = 1 - max(0, now-setpoint)/max(now-off, setpoint-off)
		if off+share*p.OutputW*perW < until {
			return share * p.OutputW
		}
		h.st.Heating = false
		share = (until - off) / (on - off)
	}
	return share * p.OutputW
}
