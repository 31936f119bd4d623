package config

import (
	"loambank/config/unit"
	"loambank/controller/decide"
)

// asked is what a house or a window states of its policy.
type asked struct {
	table                                                    string
	crop                                                     option[string]
	setpoint, frost, chargeFloor, dryFloor                   option[unit.Celsius]
	setpointBand, frostBand, frostGain, dryGain              option[unit.Kelvin]
	humidityLimit, humidityBand, dryPerDayS, cropWorthPerKWh option[float64]
}

// ask reads the policy keys of a table.
func (b *builder) ask(table string, k PolicyKeys) asked {
	a := asked{
		table:           table,
		setpoint:        b.celsius(table, "setpoint", k.Setpoint, -15, 30),
		setpointBand:    b.kelvin(table, "setpoint_band", k.SetpointBand, 0.2, 6),
		frost:           b.celsius(table, "frost", k.Frost, -15, 15),
		frostBand:       b.kelvin(table, "frost_band", k.FrostBand, 0.2, 6),
		frostGain:       b.kelvin(table, "frost_gain", k.FrostGain, 0.2, 10),
		chargeFloor:     b.celsius(table, "charge_floor", k.ChargeFloor, -15, 40),
		humidityLimit:   b.share(table, "humidity_limit", k.HumidityLimit, 0.5, 1),
		humidityBand:    b.share(table, "humidity_band", k.HumidityBand, 0.005, 0.3),
		dryGain:         b.kelvin(table, "dry_gain", k.DryGain, 0.2, 10),
		dryFloor:        b.celsius(table, "dry_floor", k.DryFloor, -15, 40),
		dryPerDayS:      b.seconds(table, "dry_per_day", k.DryPerDay, 0, 86400),
		cropWorthPerKWh: b.price(table, "crop_worth", k.CropWorth),
	}
	if b.blank(table, "crop", k.Crop) {
		b.fault(join(table, "crop"), "nothing is written", `write a crop such as "lettuce", or "none"`)
	}
	if k.Crop != "" {
		a.crop = option[string]{k.Crop, true}
		b.knowCrop(join(table, "crop"), k.Crop)
	}
	return a
}

// over fills what a window does not state with what its house states. A window with another crop
// takes that crop's frost limit and setpoint, not those meant for the house's crop.
func (a asked) over(h asked) asked {
	if !a.crop.stated || a.crop.value == h.crop.value {
		a.frost, a.setpoint = a.frost.or(h.frost), a.setpoint.or(h.setpoint)
	}
	a.crop = a.crop.or(h.crop)
	a.chargeFloor, a.dryFloor = a.chargeFloor.or(h.chargeFloor), a.dryFloor.or(h.dryFloor)
	a.setpointBand, a.frostBand = a.setpointBand.or(h.setpointBand), a.frostBand.or(h.frostBand)
	a.frostGain, a.dryGain = a.frostGain.or(h.frostGain), a.dryGain.or(h.dryGain)
	a.humidityLimit, a.humidityBand = a.humidityLimit.or(h.humidityLimit), a.humidityBand.or(h.humidityBand)
	a.dryPerDayS, a.cropWorthPerKWh = a.dryPerDayS.or(h.dryPerDayS), a.cropWorthPerKWh.or(h.cropWorthPerKWh)
	return a
}

// resolve puts the defaults under what is asked for.
func (b *builder) resolve(a asked, heater decide.Heater) decide.Policy {
	d := b.defaults
	c := b.cropOf(a.crop.value)
	frost := a.frost.otherwise(c.limit.Add(d.overLimit))
	warm := frost.Add(d.overFrost)
	if c.hurts {
		warm = max(warm, c.chill)
	}
	setpoint, band := a.setpoint.otherwise(warm), a.setpointBand.otherwise(d.setpointBand)
	floor := setpoint.Add(band + d.overDischarge)
	if heater.Present {
		floor = max(heater.Setpoint.Add(heater.Band+d.overHeater), setpoint.Add(band))
	}
	return decide.Policy{
		Allow:         decide.Allow{Charge: true, Discharge: true, Dry: true},
		Setpoint:      setpoint,
		SetpointBand:  band,
		Crop:          a.crop.value != noCrop,
		Frost:         frost,
		FrostBand:     a.frostBand.otherwise(d.frostBand),
		FrostGain:     a.frostGain.otherwise(d.frostGain),
		ChargeFloor:   a.chargeFloor.otherwise(floor),
		HumidityLimit: a.humidityLimit.otherwise(d.humidityLimit),
		HumidityBand:  a.humidityBand.otherwise(d.humidityBand),
		DryGain:       a.dryGain.otherwise(d.dryGain),
		DryFloor:      a.dryFloor.otherwise(setpoint.Add(d.overSetpoint)),
		DryPerDayS:    a.dryPerDayS.otherwise(d.dryPerDayS),
		CropWorth:     a.cropWorthPerKWh.value,
	}
}

// policyLines notes the policy as understood; of a window, what it states and what differs from
// its house.
func (b *builder) policyLines(a asked, p decide.Policy, of *decide.Policy) {
	note := func(key string, stated bool, show func(decide.Policy) string) {
		if text := show(p); of == nil || stated || text != show(*of) {
			b.line(key, text, !stated)
		}
	}
	u := b.display
	if a.crop.stated {
		b.line("crop", b.cropLine(a.crop.value), false)
	}
	note("setpoint", a.setpoint.stated, func(p decide.Policy) string { return u.Setting(p.Setpoint) })
	note("setpoint_band", a.setpointBand.stated, func(p decide.Policy) string { return u.Difference(p.SetpointBand) })
	if p.Crop {
		note("frost", a.frost.stated, func(p decide.Policy) string { return u.Setting(p.Frost) })
		note("frost_band", a.frostBand.stated, func(p decide.Policy) string { return u.Difference(p.FrostBand) })
		note("frost_gain", a.frostGain.stated, func(p decide.Policy) string { return u.Difference(p.FrostGain) })
	}
	note("charge_floor", a.chargeFloor.stated, func(p decide.Policy) string { return u.Setting(p.ChargeFloor) })
	note("humidity_limit", a.humidityLimit.stated, func(p decide.Policy) string { return u.Share(p.HumidityLimit) })
	note("humidity_band", a.humidityBand.stated, func(p decide.Policy) string { return u.Share(p.HumidityBand) })
	note("dry_gain", a.dryGain.stated, func(p decide.Policy) string { return u.Difference(p.DryGain) })
	note("dry_floor", a.dryFloor.stated, func(p decide.Policy) string { return u.Setting(p.DryFloor) })
	note("dry_per_day", a.dryPerDayS.stated, func(p decide.Policy) string { return u.Duration(p.DryPerDayS) })
	if p.CropWorth > 0 {
		note("crop_worth", a.cropWorthPerKWh.stated, func(p decide.Policy) string { return b.perKWh(p.CropWorth) })
	}
}

// checkPolicy compares the parts of a policy with one another.
func (b *builder) checkPolicy(a asked, p decide.Policy) {
	u := b.display
	if p.Crop && p.Setpoint < p.Frost {
		b.fault(join(a.table, "setpoint"), "setpoint "+u.Setting(p.Setpoint)+" is under the frost limit "+u.Setting(p.Frost),
			"raise setpoint or lower frost")
	}
	if p.HumidityBand >= p.HumidityLimit {
		b.fault(join(a.table, "humidity_band"), "the band is not under the limit", "lower it")
	}
}

// storeAsked is what a store or a window states of a store's policy.
type storeAsked struct {
	table                              string
	margin, marginBand, gain, gainBand option[unit.Kelvin]
	soilCap, soilFloor                 option[unit.Celsius]
}

func (b *builder) askStore(table string, k StoreKeys) storeAsked {
	return storeAsked{
		table:      table,
		margin:     b.kelvin(table, "margin", k.Margin, 0.5, 20),
		marginBand: b.kelvin(table, "margin_band", k.MarginBand, 0.1, 10),
		gain:       b.kelvin(table, "gain", k.Gain, 0.5, 20),
		gainBand:   b.kelvin(table, "gain_band", k.GainBand, 0.1, 10),
		soilCap:    b.celsius(table, "soil_cap", k.SoilCap, 10, 45),
		soilFloor:  b.celsius(table, "soil_floor", k.SoilFloor, -5, 25),
	}
}

// over fills what a window does not state with what the store states.
func (a storeAsked) over(s storeAsked) storeAsked {
	return storeAsked{
		table:      a.table,
		margin:     a.margin.or(s.margin),
		marginBand: a.marginBand.or(s.marginBand),
		gain:       a.gain.or(s.gain),
		gainBand:   a.gainBand.or(s.gainBand),
		soilCap:    a.soilCap.or(s.soilCap),
		soilFloor:  a.soilFloor.or(s.soilFloor),
	}
}

func (b *builder) resolveStore(a storeAsked) decide.StorePolicy {
	d := b.defaults
	return decide.StorePolicy{
		Margin:     a.margin.otherwise(d.margin),
		MarginBand: a.marginBand.otherwise(min(d.marginBand, a.margin.otherwise(d.margin)/2)),
		Gain:       a.gain.otherwise(d.gain),
		GainBand:   a.gainBand.otherwise(min(d.gainBand, a.gain.otherwise(d.gain)/2)),
		SoilCap:    a.soilCap.otherwise(d.soilCap),
		SoilFloor:  a.soilFloor.otherwise(d.soilFloor),
	}
}

// storeLines notes a store's policy; of a window only what it states.
func (b *builder) storeLines(a storeAsked, p decide.StorePolicy, all bool) {
	u := b.display
	note := func(key string, stated bool, text string) {
		if all || stated {
			b.line(key, text, !stated)
		}
	}
	note("margin", a.margin.stated, u.Difference(p.Margin))
	note("margin_band", a.marginBand.stated, u.Difference(p.MarginBand))
	note("gain", a.gain.stated, u.Difference(p.Gain))
	note("gain_band", a.gainBand.stated, u.Difference(p.GainBand))
	note("soil_cap", a.soilCap.stated, u.Setting(p.SoilCap))
	note("soil_floor", a.soilFloor.stated, u.Setting(p.SoilFloor))
}

// checkStore compares the parts of a store's policy with one another.
func (b *builder) checkStore(a storeAsked, p decide.StorePolicy) {
	u := b.display
	if p.MarginBand > p.Margin {
		b.fault(join(a.table, "margin_band"), "band "+u.Difference(p.MarginBand)+" is larger than margin "+u.Difference(p.Margin),
			"raise margin or lower margin_band")
	}
	if p.GainBand > p.Gain {
		b.fault(join(a.table, "gain_band"), "band "+u.Difference(p.GainBand)+" is larger than gain "+u.Difference(p.Gain),
			"raise gain or lower gain_band")
	}
	if p.SoilFloor >= p.SoilCap {
		b.fault(join(a.table, "soil_floor"), "soil_floor "+u.Setting(p.SoilFloor)+" is not under soil_cap "+u.Setting(p.SoilCap),
			"lower soil_floor or raise soil_cap")
	}
}
