package config

import (
	"fmt"
	"slices"
	"strings"

	"loambank/controller/decide"
	"loambank/controller/physics"
	"loambank/drivers"
)

// buildStore reads one store, without its probes, into h and returns what it asks for.
func (b *builder) buildStore(h *House, o owner, t StoreTable) storeAsked {
	d := b.defaults
	b.group = o.group
	s := decide.Store{Name: t.Name}
	asked := b.askStore(o.table, t.StoreKeys)
	policy := b.resolveStore(asked)
	b.storeLines(asked, policy, true)
	b.checkStore(asked, policy)
	s.MinRunS = set(b, "min_run", b.seconds(o.table, "min_run", t.MinRun, 0, 6*3600), d.minRunS, b.display.Duration)
	s.MinRestS = set(b, "min_rest", b.seconds(o.table, "min_rest", t.MinRest, 0, 6*3600), d.minRestS, b.display.Duration)
	s.StartsPerHour = set(b, "starts_per_hour", b.number(o.table, "starts_per_hour", t.StartsPerHour, 0, 60), d.startsPerHour, plainNumber)
	s.Effectiveness = set(b, "effectiveness", b.share(o.table, "effectiveness", t.Effectiveness, 0.05, 1), d.effectiveness, b.display.Share)
	s.WaterHoldsFrost = t.WaterHoldsFrost
	b.line("water_holds_frost", fmt.Sprint(t.WaterHoldsFrost), !b.pos.has(join(o.table, "water_holds_frost")))
	pipes := b.buildPipes(join(o.table, "pipes"), t.Pipes)
	h.Pipes = append(h.Pipes, pipes)

	var stanzas []drivers.Stanza
	taken := names{}
	for i, fan := range t.Fan {
		table := index(join(o.table, "fan"), i)
		if b.named(table, "name", fan.Name) {
			b.take(taken, "fan of this store", table, fan.Name)
		}
		b.group = o.group + ", fan " + fan.Name
		f, stanza := b.buildFan(table, path(o.house, o.store, fan.Name), fan)
		s.Fans = append(s.Fans, f)
		stanzas = append(stanzas, stanza)
	}
	switch {
	case len(t.Fan) == 0:
		b.missing(o.table, "fan", `the store's fan, fan = [ { name = "east", … } ]`)
	case len(t.Fan) > decide.MaxFans:
		b.fault(join(o.table, "fan"), fmt.Sprintf("%d fans are too many", len(t.Fan)), fmt.Sprintf("a store has at most %d; join those that switch together", decide.MaxFans))
	}
	i := len(h.House.Decide.Stores)
	if i < decide.MaxStores {
		h.House.CapacityJK[i] = pipes.capacityJK(physics.Typical(h.Soil.Texture).HeatCapacityJM3K(h.Soil.Water))
	}
	h.House.Decide.Stores = append(h.House.Decide.Stores, s)
	h.Fans = append(h.Fans, stanzas)
	return asked
}

// buildPipes reads the size of a store.
func (b *builder) buildPipes(table string, t *PipesTable) Pipes {
	if t == nil {
		b.line("pipes", "not stated: a simulated year has usual ones", true)
		return Pipes{}
	}
	for _, key := range []string{"count", "length", "spacing", "depth"} {
		b.missing(table, key, "all of count, length, spacing and depth")
	}
	p := Pipes{
		Count:    int(t.Count),
		LengthM:  b.length(table, "length", t.Length, 1, 200).value,
		SpacingM: b.length(table, "spacing", t.Spacing, 0.1, 3).value,
		DepthM:   b.length(table, "depth", t.Depth, 0.1, 4).value,
	}
	if b.pos.has(join(table, "count")) && (t.Count < 1 || t.Count > 500) {
		b.fault(join(table, "count"), fmt.Sprintf("%d is out of range", t.Count), "write 1 to 500")
		return Pipes{}
	}
	b.line("pipes", fmt.Sprintf("%d of %s, %s apart, %s deep", p.Count,
		b.display.Length(p.LengthM), b.display.Length(p.SpacingM), b.display.Length(p.DepthM)), false)
	p.DiameterM = set(b, "pipes.diameter", b.length(table, "diameter", t.Diameter, 0.03, 0.6), b.defaults.diameterM, b.display.Length)
	wall := b.choice(table, "wall", t.Wall, "corrugated", "smooth")
	p.Smooth = wall == "smooth"
	b.line("pipes.wall", wall, t.Wall == "")
	p.Sealed = b.written(table, "perforated") && !t.Perforated
	b.line("pipes.perforated", fmt.Sprint(!p.Sealed), !b.written(table, "perforated"))
	return p
}

// underM is how far under the pipes the soil still takes part from one day to the next, m: about
// three damping depths of the daily wave. Common practice, no source.
const underM = 0.3

// capacityJK is the heat that warms the store by 1 K, J/K: the soil from the surface to a little
// under the pipes, of a heat capacity by volume.
func (p Pipes) capacityJK(soilJM3K float64) float64 {
	return float64(p.Count) * p.LengthM * p.SpacingM * (p.DepthM + underM) * soilJM3K * sign(p.DepthM)
}

func sign(v float64) float64 {
	if v > 0 {
		return 1
	}
	return 0
}

// buildFan reads one fan and the device behind it.
func (b *builder) buildFan(table, name string, t FanTable) (decide.Fan, drivers.Stanza) {
	f := decide.Fan{Name: t.Name}
	if !t.Power.Set {
		b.missing(table, "power", `what it draws at full speed, such as power = "600 W"`)
	}
	if !t.Flow.Set {
		b.missing(table, "flow", `what it moves at full speed, such as flow = "2800 cfm"`)
	}
	power := b.watts(table, "power", t.Power, 1, 1e5)
	flow := b.flow(table, "flow", t.Flow, 0.001, 50)
	f.PowerW = set(b, "power", power, 0, b.display.Power)
	f.FlowM3s = set(b, "flow", flow, 0, b.display.Flow)
	f.Catalogue = b.choice(table, "flow_is", t.FlowIs, "catalogue", "measured") == "catalogue"
	if f.Catalogue {
		b.line("flow_is", "catalogue: half of it is believed", t.FlowIs == "")
		b.warn(table, "the flow of fan "+quote(t.Name)+" is a catalogue figure, half of it is believed", `measure it and write flow_is = "measured"`)
	} else {
		b.line("flow_is", "measured", false)
	}
	f.Levels = b.levels(table, t)
	f.ProofS = b.seconds(table, "proof", t.Proof, 1, 300).value
	if f.ProofS > 0 {
		b.line("proof", "within "+b.display.Duration(f.ProofS), false)
	}
	if backup := b.celsius(table, "backup_thermostat", t.BackupThermostat, -15, 15); backup.stated {
		f.Backup, f.BackupAt = true, backup.value
		b.line("backup_thermostat", b.display.Setting(f.BackupAt), false)
	}
	stanza := b.buildDevice(table, name, t.DeviceKeys, t.Pins, asFan)
	active := b.choice(table, "active", t.Active, "high", "low")
	stanza.ActiveLow = active == "low"
	stanza.Levels = slices.Clone(f.Levels)
	b.pins(table, t.Pins, len(f.Levels))
	b.orders(table, t, len(f.Levels), &stanza)
	b.line("driver", strings.Join(append([]string{t.wiring()}, t.Pins...), " "), false)
	b.orderLines(t)
	b.line("active", active, t.Active == "")
	return f, stanza
}

// pins checks that each speed of a fan has its relay.
func (b *builder) pins(table string, pins []string, speeds int) {
	at := join(table, "pins")
	switch {
	case !b.written(table, "pins"):
	case len(pins) < 2 || len(pins) > 3:
		b.fault(at, fmt.Sprintf("%d pins are not two or three", len(pins)), "write one for each speed, slowest first, or a single `pin`")
	case len(pins) != speeds:
		b.fault(at, fmt.Sprintf("%d pins do not suit %d levels", len(pins), speeds), `write a level for each pin, as in levels = ["50 %", "100 %"]`)
	}
}

// buildProofs gives every fan that a probe watches a time to prove itself, where none is stated.
func (b *builder) buildProofs(h *House) {
	for i := range h.House.Decide.Stores {
		s := &h.House.Decide.Stores[i]
		for j := range s.Fans {
			if f := &s.Fans[j]; f.ProofS == 0 && h.proves(i, j) {
				f.ProofS = b.defaults.proofS
				b.group = "house " + h.House.Name + ", store " + s.Name + ", fan " + f.Name
				b.line("proof", "within "+b.display.Duration(f.ProofS), true)
			}
		}
	}
}

// levels lists the speeds of a fan: one, those stated, or steps of 10 % from the lowest.
func (b *builder) levels(table string, t FanTable) []float64 {
	if len(t.Levels) > 0 && t.MinLevel.Set {
		b.fault(join(table, "min_level"), "a fan has levels or a lowest level, not both", "remove one of the two")
	}
	if lowest := b.share(table, "min_level", t.MinLevel, 0.1, 1); lowest.stated {
		b.line("min_level", b.display.Share(lowest.value), false)
		return stepsFrom(lowest.value)
	}
	if at := join(table, "levels"); !b.pos.has(at) || b.removed[at] {
		return []float64{1}
	}
	var levels []float64
	text := ""
	for i, l := range t.Levels {
		level := b.share(table, fmt.Sprintf("levels[%d]", i), l, 0.01, 1)
		levels = append(levels, level.value)
		text += " " + b.display.Share(level.value)
	}
	rising := slices.IsSortedFunc(levels, func(a, c float64) int {
		if a < c {
			return -1
		}
		return 1
	})
	if len(levels) == 0 || len(levels) > 20 || !rising || levels[len(levels)-1] != 1 {
		b.fault(join(table, "levels"), "levels must rise to 100 %", `write them as in levels = ["40 %", "100 %"], at most 20`)
		return []float64{1}
	}
	b.line("levels", text[1:], false)
	return levels
}

// stepsFrom lists the lowest speed and every tenth above it.
func stepsFrom(lowest float64) []float64 {
	levels := []float64{lowest}
	for tenth := 2; tenth <= 10; tenth++ {
		if level := float64(tenth) / 10; level > lowest+0.005 {
			levels = append(levels, level)
		}
	}
	if last := len(levels) - 1; levels[last] < 1 {
		levels[last] = 1
	}
	return levels
}
