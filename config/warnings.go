package config

import (
	"fmt"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/season"
)

// warnFoolish notes what is legal but foolish.
func (b *builder) warnFoolish(s *Settings) {
	if t := s.Turn.ToppingUp; season.DatesBetween(s.Turn.FirstFrost, s.Turn.LastFrost).Contains(modelYear, t.Month, t.Day) {
		b.warn("season.topping_up", "topping up begins within the cold months, so that stored heat is worth nothing before the first frost",
			"write a date before first_frost")
	}
	burns := false
	for i := range s.Houses {
		table := index("house", i)
		h := &s.Houses[i]
		burns = burns || h.House.Decide.Heater.Present
		b.warnFallback(table, h)
		b.warnHeater(table, h)
		b.warnMargin(table, h)
		b.warnWindows(table, h)
		b.warnProofs(table, h)
	}
	if b.pos.has("prices.fuel") && !burns {
		b.warn("prices.fuel", "no house has a heater, so that the fuel's price changes nothing", "state the heater, or remove the fuel")
	}
}

// warnFallback asks for a second probe of the crop's air, or for a duty without one.
func (b *builder) warnFallback(table string, h *House) {
	air := 0
	for _, p := range h.House.Probes {
		if p.Judge.Role == judge.Air && p.Judge.Place == judge.Crop {
			air++
		}
	}
	if air < 2 && !b.pos.has(join(table, "fallback")) {
		b.warn(table, "one probe alone reads the crop's air; when it fails the fans run from sunset to sunrise in the cold months",
			`add a second one, or write fallback = "night" or "off" to say that this is meant`)
	}
}

// heaterLead is how far discharging should start before the heater does, K.
const heaterLead unit.Kelvin = 1

// warnHeater compares the policies with the heater.
func (b *builder) warnHeater(table string, h *House) {
	s, u := &h.House.Decide, b.display
	if !s.Heater.Present {
		return
	}
	if !s.Tariff.HasFuel {
		b.warn(join(table, "heater"), "the fuel has no price, so that running is judged by min_ratio alone",
			`write it, as in prices.fuel = { kind = "propane", price = "2.90 $/gal" }`)
	}
	stops := s.Heater.Setpoint.Add(s.Heater.Band)
	for i, p := range s.Policies {
		at := policyTable(table, i)
		if p.Allow.Charge && p.ChargeFloor < stops && b.first(table, at, "charge_floor") {
			b.warn(join(at, "charge_floor"), "charge floor "+u.Setting(p.ChargeFloor)+" is under the "+u.Setting(stops)+
				" at which the heater stops: its heat would be put into the soil", "raise charge_floor to "+u.Setting(stops)+" or more")
		}
		if p.Allow.Discharge && p.Setpoint < stops.Add(heaterLead) && b.first(table, at, "setpoint") {
			b.warn(join(at, "setpoint"), "setpoint "+u.Setting(p.Setpoint)+" is less than "+u.Difference(heaterLead)+
				" over the "+u.Setting(stops)+" at which the heater stops: the heater will always run first", "raise setpoint or lower the heater")
		}
	}
}

// first reports whether a warning about a window's key is the window's own: what it takes over
// from its house is warned of once, there.
func (b *builder) first(house, table, key string) bool {
	return table == house || b.pos.has(join(table, key)) || b.pos.has(join(table, "crop"))
}

// policyTable is the table that policy i was written in.
func policyTable(house string, i int) string {
	if i == 0 {
		return house
	}
	return index(join(house, "window"), i-1)
}

// warnMargin compares margins with the errors of the two probes they lie between.
func (b *builder) warnMargin(table string, h *House) {
	s, u := &h.House.Decide, b.display
	air := worstError(h, judge.Air, house.WholeHouse)
	for i, p := range s.Policies {
		for j, store := range p.Stores {
			at := join(policyTable(table, i), "margin")
			if i == 0 {
				at = join(index(join(table, "store"), j), "margin")
			} else if !b.pos.has(at) {
				continue
			}
			if errors := air + worstError(h, judge.Soil, j); store.Margin < errors {
				b.warn(at, "margin "+u.Difference(store.Margin)+" is smaller than the error of its two probes together, "+u.Difference(errors),
					"raise margin, or state a smaller error of probes that were compared")
			}
		}
	}
}

func worstError(h *House, role judge.Role, store int) unit.Kelvin {
	worst := 0.0
	for _, p := range h.House.Probes {
		if p.Judge.Role == role && p.Store == store && p.Judge.Place != judge.Undisturbed {
			worst = max(worst, p.Judge.ErrorK)
		}
	}
	return unit.Kelvin(worst)
}

// warnWindows walks the year for windows that never rule, or not long enough to run in.
func (b *builder) warnWindows(table string, h *House) {
	s := &h.House.Decide
	if len(s.Season.Windows) == 0 {
		return
	}
	year := walkYear(s.Season.Site, s.Season.Windows)
	for i, o := range year[1:] {
		at := index(join(table, "window"), i)
		allow := s.Policies[i+1].Allow
		if !o.opens() {
			b.warn(at, "window "+quote(h.Windows[i])+" never opens in the whole year", "change its times, or list it before the window that covers it")
			continue
		}
		for _, store := range s.Stores {
			if allow != (decide.Allow{}) && o.longestS < store.MinRunS {
				b.warn(at, fmt.Sprintf("window %q is open for %s at most, shorter than the shortest run of store %q, %s",
					h.Windows[i], b.display.Duration(o.longestS), store.Name, b.display.Duration(store.MinRunS)), "open it longer or lower min_run")
			}
		}
	}
}

// warnProofs finds fans of which something is stated that only a proof can tell, and none is wired.
func (b *builder) warnProofs(table string, h *House) {
	for i, store := range h.House.Decide.Stores {
		for j, fan := range store.Fans {
			at := index(join(index(join(table, "store"), i), "fan"), j)
			key := ""
			switch {
			case h.proves(i, j):
			case fan.ProofS > 0:
				key = "proof"
			case fan.Backup:
				key = "backup_thermostat"
			}
			if key != "" {
				b.warn(join(at, key), "no fan-power or airflow-proof probe watches fan "+quote(fan.Name), "add one to the store's probes, or remove "+key)
			}
		}
	}
}

// proves reports whether a probe tells that the fan runs.
func (h *House) proves(store, fan int) bool {
	for _, p := range h.House.Probes {
		proof := p.Judge.Role == judge.FanPower || p.Judge.Role == judge.AirflowProof
		if proof && p.Store == store && (p.Fan == fan || p.Fan == house.AllFans) {
			return true
		}
	}
	return false
}
