package config

import (
	"strings"
	"time"

	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/drivers"
)

// owner is the house or store that probes are listed in.
type owner struct {
	table  string   // "house[0]" or "house[0].store[1]"
	house  string   // its name
	store  string   // "" for the house itself
	index  int      // house.WholeHouse for the house itself
	fans   []string // of the store
	group  string   // of its lines
	single names    // probe names of the whole house
}

// buildProbe reads one probe into h.
func (b *builder) buildProbe(h *House, o owner, table string, t ProbeTable) {
	role, ok := b.role(table, t.Role, o)
	if !ok {
		return
	}
	b.group = o.group
	depthM := b.depth(table, t, role)
	place := b.place(table, t.Place, role, depthM, o)
	name := b.probeName(table, t, role, place)
	b.take(o.single, "probe of this house", table, name)

	p := house.Probe{Name: name, Store: o.index, Fan: b.watched(table, t.Fan, role, o)}
	p.Judge = judge.Defaults(role, place, depthM)
	b.limits(table, t, role, &p)
	stanza := b.buildDevice(table, path(o.house, o.store, name), t.DeviceKeys, nil, asProbe)
	if stanza.Driver == "recording" {
		stanza.Column, stanza.Zone = t.Column, b.zone
	}
	b.sensor(table, t, role, &stanza)
	if stanza.Driver == "mqtt" {
		stanza.MQTT.Stale = time.Duration(p.Judge.StaleS * float64(time.Second))
	}
	stanza.Scale = b.scale(table, t.Scale)
	stanza.Offset = b.amount(table, "offset", t.Offset, amountOf(role).difference()).value
	b.probeLine(p, stanza, t)

	h.House.Probes = append(h.House.Probes, p)
	h.Probes = append(h.Probes, stanza)
	h.Columns = append(h.Columns, b.column(table, t.Column))
}

// probeLine notes a probe in one line.
func (b *builder) probeLine(p house.Probe, device drivers.Stanza, t ProbeTable) {
	text := p.Judge.Role.String()
	if p.Judge.Place != judge.NoPlace {
		text += " " + p.Judge.Place.String()
	}
	if p.Judge.DepthM > 0 {
		text += ", " + b.display.Length(p.Judge.DepthM) + " deep"
	}
	text += ", by " + t.wiring() + t.SensorKeys.words() + ", lost after " + b.display.Duration(p.Judge.StaleS)
	show := amountOf(p.Judge.Role)
	if t.Scale != nil {
		text += ", times " + plainNumber(device.Scale)
	}
	for _, l := range []struct {
		key    string
		stated bool
		value  float64
		kind   scale
	}{
		{"plus", t.Offset.Set, device.Offset, show.difference()},
		{"min", t.Min.Set, p.Judge.Min, show.point()},
		{"max", t.Max.Set, p.Judge.Max, show.point()},
		{"error", t.Error.Set, p.Judge.ErrorK, show.difference()},
		{"agree", t.Agree.Set, p.AgreeK, show.difference()},
	} {
		if l.stated && l.kind.show != nil {
			text += ", " + l.key + " " + l.kind.show(b.display, l.value)
		}
	}
	if t.Column != "" {
		text += ", column " + quote(t.Column)
	}
	b.line("probe "+p.Name, text, false)
}

// role reads the role, and where such a probe belongs.
func (b *builder) role(table, word string, o owner) (judge.Role, bool) {
	if word == "" {
		b.missing(table, "role", `what it stands for, such as role = "air"`)
		return judge.NoRole, false
	}
	role, err := judge.ParseRole(word)
	if err != nil || role == judge.NoRole {
		var known []string
		for r := judge.NoRole + 1; ; r++ {
			text, err := r.MarshalText()
			if err != nil {
				break
			}
			known = append(known, string(text))
		}
		b.fault(join(table, "role"), quote(word)+" is not a known role", suggest(word, known))
		return judge.NoRole, false
	}
	switch role {
	case judge.DuctIn, judge.DuctOut, judge.FanPower, judge.AirflowProof, judge.PipeWater, judge.HandSwitch:
		if o.index == house.WholeHouse {
			b.fault(join(table, "role"), "a probe of role "+word+" belongs to a store", "move it to the probes of its store")
		}
	case judge.Soil:
	default:
		if o.index != house.WholeHouse {
			b.fault(join(table, "role"), "a probe of role "+word+" belongs to the house", "move it to the probes of the house")
		}
	}
	return role, true
}

func (b *builder) depth(table string, t ProbeTable, role judge.Role) float64 {
	depth := b.length(table, "depth", t.Depth, 0.01, 6)
	if role == judge.Soil && !t.Depth.Set {
		b.missing(table, "depth", `how deep it lies, such as depth = "18 in"`)
	}
	if role != judge.Soil && t.Depth.Set {
		b.fault(join(table, "depth"), "only soil probes have a depth", "remove it")
	}
	return depth.value
}

// rootDepthM parts the soil of roots from that between pipes where no place is stated, m.
const rootDepthM = 0.3

// place reads where a probe sits, as its role asks.
func (b *builder) place(table, word string, role judge.Role, depthM float64, o owner) judge.Place {
	at := join(table, "place")
	place, err := judge.ParsePlace(word)
	isAir := place == judge.Crop || place == judge.Intake
	isSoil := place == judge.Between || place == judge.Root || place == judge.Undisturbed
	switch {
	case err != nil:
		b.fault(at, quote(word)+" is not a known place", suggest(word, []string{"crop", "intake", "between", "root", "undisturbed"}))
		return judge.NoPlace
	case role == judge.Air && !isAir:
		if word == "" {
			b.missing(table, "place", `place = "crop", among the leaves, or "intake", where the fans take air in`)
			return judge.Crop
		}
		b.fault(at, "air has no place "+quote(word), `write "crop" or "intake"`)
	case role == judge.Soil && !isSoil && word != "":
		b.fault(at, "soil has no place "+quote(word), `write "between", "root" or "undisturbed"`)
	case role == judge.Soil && word == "":
		place = judge.Root
		if depthM >= rootDepthM {
			place = judge.Between
		}
		b.warn(table, "the soil probe has no place and is taken as "+quote(place.String())+" by its depth", `write its place, "between", "root" or "undisturbed"`)
	case role != judge.Air && role != judge.Soil && word != "":
		b.fault(at, "only air and soil probes have a place", "remove it")
		return judge.NoPlace
	}
	if role == judge.Soil && o.index == house.WholeHouse && place != judge.Undisturbed {
		b.fault(table, "a soil probe of place "+place.String()+" belongs to a store", "move it to the probes of its store")
	}
	return place
}

// probeName is the name stated, or made of role, place and depth.
func (b *builder) probeName(table string, t ProbeTable, role judge.Role, place judge.Place) string {
	if t.Name != "" || b.pos.has(join(table, "name")) {
		b.named(table, "name", t.Name)
		return t.Name
	}
	name := role.String()
	if place != judge.NoPlace {
		name += "-" + place.String()
	}
	if t.Depth.Text != "" {
		name += "-" + strings.Join(strings.Fields(t.Depth.Text), "")
	}
	return name
}

// watched is the fan that a proof watches.
func (b *builder) watched(table, name string, role judge.Role, o owner) int {
	if name == "" {
		return house.AllFans
	}
	at := join(table, "fan")
	if role != judge.FanPower && role != judge.AirflowProof {
		b.fault(at, "a probe of role "+role.String()+" watches no fan", "remove it")
		return house.AllFans
	}
	for i, fan := range o.fans {
		if fan == name {
			return i
		}
	}
	b.fault(at, "this store has no fan "+quote(name), suggestName(name, o.fans))
	return house.AllFans
}

func suggestName(name string, known []string) string {
	if len(known) == 0 {
		return "there is none to name"
	}
	return suggest(name, known)
}

// limits puts the stated limits over those of the role.
func (b *builder) limits(table string, t ProbeTable, role judge.Role, p *house.Probe) {
	a := amountOf(role)
	p.AgreeK = a.agree
	// A probe that is read only every tick cannot be older sooner than a few of them.
	p.Judge.StaleS = b.seconds(table, "stale", t.Stale, 1, 2*86400).otherwise(max(p.Judge.StaleS, 3*b.tickS))
	for _, l := range []struct {
		key     string
		written Amount
		kind    scale
		into    *float64
	}{
		{"min", t.Min, a.point(), &p.Judge.Min},
		{"max", t.Max, a.point(), &p.Judge.Max},
		{"error", t.Error, a.difference(), &p.Judge.ErrorK},
		{"agree", t.Agree, a.difference(), &p.AgreeK},
	} {
		if o := b.amount(table, l.key, l.written, l.kind); o.stated {
			*l.into = o.value
		}
	}
	if p.AgreeK == 0 {
		p.AgreeK = p.Judge.Max - p.Judge.Min // nothing is known of how far they may differ
	}
	if p.Judge.Min >= p.Judge.Max {
		b.fault(table, "the least value is not under the largest", "lower min or raise max")
	}
	if p.Judge.ErrorK < 0 {
		b.fault(join(table, "error"), "an error is not negative", "write it without its sign")
	}
	if p.AgreeK < 0 {
		b.fault(join(table, "agree"), "a difference to agree within is not negative", "write it without its sign")
	}
}

func (b *builder) amount(table, key string, a Amount, kind scale) option[float64] {
	if !a.Set {
		return option[float64]{}
	}
	if kind.parse == nil {
		b.fault(join(table, key), "a contact has no `"+key+"`", "remove it")
		return option[float64]{}
	}
	v, err := kind.parse(a.Text)
	if err != nil {
		b.wrong(join(table, key), err)
		return option[float64]{}
	}
	return option[float64]{v, true}
}

func (b *builder) scale(table string, s *float64) float64 {
	if s != nil && *s == 0 {
		b.fault(join(table, "scale"), "a scale of 0 makes every reading 0", "write what one raw unit stands for, or remove it")
		return 1
	}
	return b.number(table, "scale", s, -1e9, 1e9).or(option[float64]{value: 1}).value
}

// column notes the header that stands for a probe.
func (b *builder) column(table, header string) string {
	if header == "" {
		return ""
	}
	if first, taken := b.columns[header]; taken {
		b.fault(join(table, "column"), "column "+quote(header)+" already stands for "+first, "give each probe its own column")
		return ""
	}
	b.columns[header] = table
	return header
}

// path joins the names that lead to a device.
func path(parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, "/")
}
