package controller

import (
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// logChanges writes a line for every store whose state or stages changed, and for every fan whose
// fault came or went. It reports whether any did.
func (r *runner) logChanges(d *decide.Decision) (changed bool) {
	for i := range r.s.House.Decide.Stores {
		is, was := &d.Stores[i], &r.inForce.Stores[i]
		if r.begun && is.State == was.State && is.Stages == was.Stages {
			continue
		}
		changed = true
		r.log.Info("state changed", keyStore, r.s.House.Decide.Stores[i].Name, keyState, is.State.String(),
			keyReason, is.Reason.Code.String(), keyWhy, r.speaker.Why(&r.s.House.Decide, is.Reason))
	}
	for _, f := range r.fans {
		switch {
		case f.err != nil && !f.told:
			changed = true
			r.log.Error("fan does not obey", keyFan, f.stanza.Name, keyError, f.err)
			r.fault("fan %s does not obey: %v", f.stanza.Name, f.err)
		case f.err == nil && f.told:
			changed = true
			r.log.Info("fan obeys again", keyFan, f.stanza.Name)
			r.fault("fan %s obeys again", f.stanza.Name)
		}
		f.told = f.err != nil
	}
	return changed
}

// evidence is what the log tells of a bad probe: why it does not answer, or what it reads, beside what
// its place can be, in the unit of its role.
func (r *runner) evidence(i int) []any {
	if err := r.probes[i].err; err != nil {
		return []any{keyError, err}
	}
	can := &r.s.House.Probes[i].Judge
	show := func(v float64) any { return v }
	if can.Role.Temperature() {
		show = func(v float64) any { return r.speaker.Display.Setting(unit.Celsius(v)) }
	}
	return []any{"read", show(r.raw[i].Value), "least", show(can.Min), "most", show(can.Max)}
}

// logProbes writes a line when a probe goes bad and when it comes back.
func (r *runner) logProbes(verdicts []judge.Verdict) {
	for i, p := range r.probes {
		bad := !verdicts[i].Quality.Usable()
		switch {
		case bad && !p.told:
			r.log.Warn("probe is bad", append([]any{keyProbe, p.stanza.Name, keyCause, verdicts[i].Cause.String()}, r.evidence(i)...)...)
			r.fault("probe %s is bad: %s", p.stanza.Name, verdicts[i].Cause)
		case !bad && p.told:
			r.log.Info("probe is back", keyProbe, p.stanza.Name)
			r.fault("probe %s is back", p.stanza.Name)
		}
		p.told = bad
	}
}
