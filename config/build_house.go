package config

import (
	"fmt"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// buildHouse reads one house with its heater, stores, fans, probes and windows. shared holds what
// the whole site has in common.
func (b *builder) buildHouse(table string, t HouseTable, shared decide.Settings) House {
	d := b.defaults
	h := House{House: house.Settings{Name: t.Name, Decide: shared}}
	s := &h.House.Decide
	group := "house " + t.Name
	b.group = group

	asked := b.ask(table, t.PolicyKeys)
	if !asked.crop.stated && !asked.frost.stated && !b.pos.has(join(table, "frost")) {
		b.missing(table, "crop", `the crop, such as crop = "lettuce", or "none" where nothing can freeze`)
	}
	heater := b.buildHeater(join(table, "heater"), t.Heater)
	s.Heater, h.HeaterOutputW = heater.Heater, heater.output.value
	policy := b.resolve(asked, s.Heater)
	b.policyLines(asked, policy, nil)
	b.checkPolicy(asked, policy)
	b.heaterLines(heater)

	s.Fallback = decide.DutyNight
	fallback := b.choice(table, "fallback", t.Fallback, "night", "off")
	if fallback == "off" {
		s.Fallback = decide.DutyOff
	}
	b.line("fallback", fallback, t.Fallback == "")
	s.GraceS = set(b, "grace", b.seconds(table, "grace", t.Grace, 0, 6*3600), d.graceS, b.display.Duration)
	s.StaggerS = set(b, "stagger", b.seconds(table, "stagger", t.Stagger, 0, 600), d.staggerS, b.display.Duration)
	if own := b.watts(table, "max_power", t.MaxPower, 10, 1e6); own.stated {
		s.MaxPowerW = own.value
		b.line("max_power", b.display.Power(own.value), false)
	}
	b.buildShell(&h, table, t)
	b.buildGround(&h, table, t)

	storeAsks := b.buildStores(&h, table, group, t.Store, t.Probe)
	b.buildProofs(&h)
	for _, a := range storeAsks {
		policy.Stores = append(policy.Stores, b.resolveStore(a))
	}
	s.Policies = []decide.Policy{policy}
	h.Crops = []string{t.Crop}
	b.buildWindows(&h, table, group, t.Window, asked, storeAsks)
	b.group = group
	b.buildVents(&h, join(table, "vents"), t.Vents)
	b.checkProbes(&h, table)
	b.checkPower(&h, table)
	return h
}

// heaterAsked is the heater with what was stated of it.
type heaterAsked struct {
	decide.Heater
	band         option[unit.Kelvin]
	rest, output option[float64]
}

// buildHeater reads the heater, if there is one.
func (b *builder) buildHeater(table string, t *HeaterTable) heaterAsked {
	if t == nil {
		return heaterAsked{}
	}
	if !t.Setpoint.Set {
		b.missing(table, "setpoint", `its thermostat, such as setpoint = "38 °F"`)
	}
	h := heaterAsked{
		band:   b.kelvin(table, "band", t.Band, 0.1, 6),
		rest:   b.seconds(table, "rest", t.Rest, 0, 6*3600),
		output: b.heatWatts(table, "output", t.Output, 100, 5e6),
	}
	h.Heater = decide.Heater{
		Present:  true,
		Setpoint: b.celsius(table, "setpoint", t.Setpoint, -15, 35).value,
		Band:     h.band.otherwise(b.defaults.heaterBand),
		RestS:    h.rest.otherwise(b.defaults.heaterRestS),
	}
	return h
}

func (b *builder) heaterLines(h heaterAsked) {
	if !h.Present {
		b.line("heater", "none", true)
		return
	}
	b.line("heater.setpoint", b.display.Setting(h.Setpoint), false)
	b.line("heater.band", b.display.Difference(h.Band), !h.band.stated)
	b.line("heater.rest", b.display.Duration(h.RestS), !h.rest.stated)
	if h.output.stated {
		b.line("heater.output", b.display.HeatRate(h.output.value), false)
	}
}

// buildStores reads the stores and all probes of the house.
func (b *builder) buildStores(h *House, table, group string, stores []StoreTable, probes []ProbeTable) []storeAsked {
	var asks []storeAsked
	var owners []owner
	single, taken := names{}, names{}
	for i, t := range stores {
		at := index(join(table, "store"), i)
		if b.named(at, "name", t.Name) {
			b.take(taken, "store of this house", at, t.Name)
		}
		o := owner{table: at, house: h.House.Name, store: t.Name, index: i, group: group + ", store " + t.Name, single: single}
		for _, fan := range t.Fan {
			o.fans = append(o.fans, fan.Name)
		}
		asks = append(asks, b.buildStore(h, o, t))
		owners = append(owners, o)
	}
	own := owner{table: table, house: h.House.Name, index: house.WholeHouse, group: group, single: single}
	for i, p := range probes {
		b.buildProbe(h, own, index(join(table, "probe"), i), p)
	}
	for i, t := range stores {
		for j, p := range t.Probe {
			b.buildProbe(h, owners[i], index(join(owners[i].table, "probe"), j), p)
		}
	}
	switch {
	case len(stores) == 0:
		b.missing(table, "store", "a store, [[house.store]]")
	case len(stores) > decide.MaxStores:
		b.fault(join(table, "store"), fmt.Sprintf("%d stores are too many", len(stores)), fmt.Sprintf("a house has at most %d", decide.MaxStores))
	}
	if n := len(h.House.Probes); n > house.MaxProbes {
		b.fault(table, fmt.Sprintf("%d probes are too many", n), fmt.Sprintf("a house has at most %d, its stores' among them", house.MaxProbes))
	}
	return asks
}

// checkProbes asks for the probes without which nothing can be decided.
func (b *builder) checkProbes(h *House, table string) {
	s := &h.House.Decide
	air := false
	soil := make([]bool, len(s.Stores))
	for _, p := range h.House.Probes {
		air = air || p.Judge.Role == judge.Air && p.Judge.Place == judge.Crop
		s.Heater.Reported = s.Heater.Reported || p.Judge.Role == judge.HeaterOn
		if p.Judge.Role == judge.Soil && p.Store != house.WholeHouse && p.Judge.Place != judge.Undisturbed {
			soil[p.Store] = true
		}
	}
	if !air && !b.pos.has(join(table, "probe")) {
		b.missing(table, "probe", `the probe of the crop's air, probe = [ { role = "air", place = "crop", … } ]`)
	} else if !air && !b.faultyWithin(join(table, "probe")) {
		b.fault(join(table, "probe"), "no probe reads the crop's air", `add { role = "air", place = "crop", … }`)
	}
	for i, found := range soil {
		at := index(join(table, "store"), i)
		if !found && !b.faultyWithin(join(at, "probe")) {
			b.fault(at, "no probe reads the soil of this store", `add probe = [ { role = "soil", place = "between", … } ]`)
		}
	}
}

// checkPower finds fans that could never start.
func (b *builder) checkPower(h *House, table string) {
	s := &h.House.Decide
	for i, store := range s.Stores {
		for j, fan := range store.Fans {
			at := join(index(join(index(join(table, "store"), i), "fan"), j), "power")
			if s.MaxPowerW > 0 && fan.PowerW > s.MaxPowerW {
				b.fault(at, fmt.Sprintf("fan %q draws more than max_power allows, %s", fan.Name, b.display.Power(s.MaxPowerW)),
					"it could never start, raise max_power or choose a smaller fan")
			} else if s.GeneratorPowerW > 0 && fan.PowerW > s.GeneratorPowerW {
				b.warn(at, fmt.Sprintf("fan %q draws more than the generator may give, %s, and will not start while it runs", fan.Name, b.display.Power(s.GeneratorPowerW)),
					"raise generator_power, or know that the crop has no fan then")
			}
		}
	}
}
