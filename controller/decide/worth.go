package decide

import "loambank/config/unit"

// worth turns kWh of heat and of electricity into one comparison per hour. In money both carry a
// price; where a price is missing, heat is counted in the electricity it must at least be worth.
type worth struct {
	asked bool    // false: the comparison is not made
	money bool    // heat and cost are in the site's currency per kWh
	heat  float64 // of a kWh of heat moved
	cost  float64 // of a kWh of fan electricity
	none  Code    // why a kWh moved is worth nothing, or NoReason
}

// charging is the worth of putting heat into the soil now.
func (t *tick) charging() worth {
	p := &t.st.Slot.Prices
	if p.HasElectricity && p.HasStored {
		w := worth{asked: true, money: true, heat: p.StoredPerKWh, cost: p.ElectricityPerKWh}
		if w.heat <= 0 {
			w.none = NoWorthYet
		}
		return w
	}
	w := worth{asked: true, heat: p.StoredShare / t.s.MinRatio, cost: 1}
	if w.heat <= 0 {
		w.none = NoWorthYet
	}
	return w
}

// frostNear is how close to the frost limit discharging is no longer asked to pay.
const frostNear unit.Kelvin = 2

// discharging is the worth of bringing heat up now. It is not asked near the frost limit, nor in
// an unheated house with a crop unless the crop's protection has a stated worth.
func (t *tick) discharging() worth {
	p, prices := t.p, &t.st.Slot.Prices
	ratio := worth{heat: 1 / t.s.MinRatio, cost: 1} // speed still needs a yardstick
	if p.Crop && t.low.Sub(p.Frost) <= frostNear {
		return ratio
	}
	switch {
	case t.s.Heater.Present:
		ratio.asked = true
		if !t.heaterWouldRun() {
			ratio.none = HeatNotNeeded
			return ratio
		}
		if !prices.HasElectricity || !prices.HasFuel {
			return ratio
		}
		return money(prices.FuelHeatPerKWh-prices.StoredPerKWh, prices.ElectricityPerKWh)
	case !p.Crop:
		ratio.asked, ratio.none = true, NoUseForHeat
		return ratio
	case p.CropWorth > 0 && prices.HasElectricity:
		return money(p.CropWorth-prices.StoredPerKWh, prices.ElectricityPerKWh)
	}
	return ratio
}

func money(heat, cost float64) worth {
	return worth{asked: true, money: true, heat: max(0, heat), cost: cost}
}

// heaterWouldRun says whether heat brought up now displaces fuel: the air is where the heater
// cuts in or out, or the house would sink there because outside is colder than the heater's
// setpoint. Where outside is not known, nights of the cold months count.
func (t *tick) heaterWouldRun() bool {
	h := &t.s.Heater
	if t.air <= h.Setpoint.Add(h.Band) {
		return true
	}
	if o := t.in.Outside; o.Quality.Usable() {
		return o.C < h.Setpoint
	}
	return t.st.Slot.Night && t.st.Slot.Cold
}

// pays compares in the same unit per hour: to start, heat must be worth WorthBand times its
// cost; to go on, its cost.
func (t *tick) pays(w worth, h heat, running bool) (have, need float64, ok bool) {
	moved := h.soilW
	if moved < 0 {
		moved = -moved
	}
	band := t.s.WorthBand
	if running {
		band = 1
	}
	have, need = moved/1000*w.heat, h.powerW/1000*w.cost*band
	if !w.money && h.powerW > 0 && w.heat > 0 {
		have, need = moved/h.powerW, band*w.cost/w.heat
	}
	return have, need, have >= need && moved > 0
}
