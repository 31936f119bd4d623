package trial

import (
	"loambank/controller/decide"
	"loambank/controller/physics"
)

// Warm puts heat into the soil at the pipes of all stores at once, J for each m² over them, and returns
// how much that is, J. Less than none takes it.
func (p *Plant) Warm(heatJm2 float64) (heatJ float64) {
	for i := range p.s.House.Decide.Stores {
		pipes := pipesOf(p.s, i)
		own := heatJm2 * float64(pipes.Count) * pipes.LengthM * pipes.SpacingM
		p.beds[i].Warm(own)
		heatJ += own
	}
	return heatJ
}

// EvenHeater lets the heater give just what holds the middle of its thermostat's band, as far as it can,
// so that two lives that differ by a little heat do not differ by where in the band their nights end.
func (p *Plant) EvenHeater() { p.house.EvenHeater() }

// Charge is what all fans at full speed are expected to put down in an hour of air and soil like that
// hour's, kWh, and what electricity they draw for it, kWh: by the effectiveness that the settings assume,
// as decide expects it of stores of which nothing was learned.
func Charge(d *decide.Settings, h *Hour) (heatKWh, fanKWh float64) {
	air := physics.Air{C: h.Air, W: h.Vapour}
	for i := range d.Stores {
		s, flowM3s := &d.Stores[i], 0.0
		for j := range s.Fans {
			flowM3s += believed(&s.Fans[j], full)
			fanKWh += s.Fans[j].PowerAt(full) / 1000
		}
		if flowM3s > 0 {
			heat := physics.Exchange(air, flowM3s, s.Effectiveness, h.Soil, d.PressurePa)
			heatKWh += heat.TotalW() / 1000
		}
	}
	return heatKWh, fanKWh
}
