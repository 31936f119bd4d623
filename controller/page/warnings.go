package page

import (
	"slices"
	"strings"

	"loambank/controller"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/sentence"
)

// farmWarnings are what is wrong with the farm, but with no one house.
func farmWarnings(v *controller.View) []Warning {
	all := []Warning{}
	if v.Sounds() {
		all = append(all, Warning{Now: true, Text: "The bell sounds.", Do: "The houses below say why."})
	}
	for _, text := range v.Troubles() {
		all = append(all, Warning{Text: text})
	}
	return all
}

// houseWarnings are what is wrong with a house, the most pressing first.
func houseWarnings(s *controller.Snapshot, h *House) []Warning {
	all := []Warning{}
	add := func(when bool, text, do string) {
		if when {
			all = append(all, Warning{Now: true, Text: text, Do: do})
		}
	}
	a := s.Decision.Alarms
	add(h.NoContact, "No contact since "+h.Time.Format("15:04")+": all that stands here is old.",
		"Look at the house yourself, then at the board.")
	add(a.Smoke, "Smoke was reported. Every fan of the house is held off.", "Find the smoke. When it is safe, clear the fault at the board.")
	add(a.FrostNoHelp, "The crop is at its frost limit and no store can help.", "Light the heater, cover the beds.")
	add(a.HandOffFrost, "A person keeps fans off that would save the crop from frost.", "Give the fans back to automatic.")
	add(a.AirLost, "The air cannot be read; the fans do their stated duty without it.", "Look at the air probes and watch the crop yourself.")
	all = append(all, storeWarnings(s, h)...)
	all = append(all, probeWarnings(h)...)
	all = append(all, foundWarnings(s)...)
	all = append(all, baselineWarnings(s, h)...)
	slices.SortStableFunc(all, func(a, b Warning) int {
		switch {
		case a.Now == b.Now:
			return 0
		case a.Now:
			return -1
		}
		return 1
	})
	return all
}

func storeWarnings(s *controller.Snapshot, h *House) (all []Warning) {
	for i := range h.Stores {
		store := &h.Stores[i]
		if s.Inputs.Stores[i].PipeWater == decide.On {
			all = append(all, Warning{Text: "Water stands in the pipes of " + store.Name + ".", Do: "Drain the pipes."})
		}
		if store.SoilLostS > 0 {
			all = append(all, Warning{
				Text: "The soil of " + store.Name + " has not been read for " + h.style.display.Duration(store.SoilLostS) + "; what is shown is estimated.",
				Do:   "Look at its probes: after two days only frost protection runs.",
			})
		}
		for _, f := range store.Fans {
			what := f.Fault
			if !f.Obeys {
				what = "takes no orders"
			}
			if f.ByBackup {
				all = append(all, Warning{
					Text: "Fan " + f.Name + " of " + store.Name + " is run by its backup thermostat.",
					Do:   "Find the cause of the cold. The thermostat stops the fan as it warms up.",
				})
			}
			if what == "" {
				continue
			}
			all = append(all, Warning{
				Now:  what != faultWords[decide.Weak],
				Text: "Fan " + f.Name + " of " + store.Name + " " + what + ".",
				Do:   "Lock out the disconnect before touching it. Look at belt, wiring and relay.",
			})
		}
	}
	return all
}

// foundWarnings are what looks wrong by what was learned of the house.
func foundWarnings(s *controller.Snapshot) (all []Warning) {
	stores := s.Settings.House.Decide.Stores
	add := func(a sentence.Advice) {
		if a != (sentence.Advice{}) {
			all = append(all, Warning{Text: a.Text, Do: a.Do})
		}
	}
	for _, n := range s.Found.Notices {
		store := ""
		if n.Store >= 0 && n.Store < len(stores) {
			store = stores[n.Store].Name
		}
		add(sentence.Notice(n.Warning, store))
	}
	for i := range s.Found.Balances {
		add(sentence.Mismatch(s.Found.Balances[i].Cause, stores[i].Name))
	}
	return all
}

// baselineWarnings are fans that stray from their baseline, and that a round is due.
func baselineWarnings(s *controller.Snapshot, h *House) (all []Warning) {
	add := func(a sentence.Advice) { all = append(all, Warning{Text: a.Text, Do: a.Do}) }
	c, name := &s.Commissioned, s.Settings.House.Name
	for _, stray := range c.Strays {
		add(sentence.Strayed(stray, h.style.display))
	}
	switch {
	case c.Kept && c.Whole == nil:
		add(sentence.NotCommissioned(name))
	case c.Due:
		add(sentence.CommissionAgain(name, c.Whole.Finished.In(zoneOf(s))))
	}
	return all
}

// causeWarning is what a probe's trouble means, and what to do.
type causeWarning struct{ text, do string }

var causeWarnings = map[string]causeWarning{
	judge.Missing.String():    {"has never answered", "Look at its wiring and its entry in the settings."},
	judge.Stale.String():      {"is silent", "Look at its plug and wiring."},
	judge.NotANumber.String(): {"gives no number", "Look at its plug and wiring."},
	judge.ErrorValue.String(): {"could not measure", "Look at its supply and wiring."},
	judge.OutOfRange.String(): {"reads what cannot be", "Look where it lies, at its wiring, and at its scale in the settings."},
	judge.Jump.String():       {"jumps", "See whether it has fallen, or got wet."},
	judge.Stuck.String():      {"has not moved for long", "See whether it is covered; warm it by hand and watch."},
	judge.Odd.String():        {"disagrees with its neighbours", "See which of them has moved."},
}

// probeWarnings names the probes whose trouble a person can do something about. A humidity probe at
// the end of its scale on a damp night, and one that is about to be good again, are left alone.
func probeWarnings(h *House) (all []Warning) {
	for i := range h.Readings {
		r := &h.Readings[i]
		w, found := causeWarnings[r.Cause]
		if !found {
			continue
		}
		text := "Probe " + r.Probe + " " + w.text
		if r.Cause == judge.Stale.String() {
			text += ", since " + h.style.display.Duration(r.AgeS)
		}
		if r.Quality == judge.Doubtful.String() {
			text += "; it counts as doubtful"
		}
		all = append(all, Warning{Text: strings.TrimSpace(text) + ".", Do: w.do})
	}
	return all
}
