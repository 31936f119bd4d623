package main

import (
	"fmt"
	"strings"

	"loambank/config/unit"
	"loambank/controller/plan/foresight"
	"loambank/controller/trial"
)

// quality is what a rule earned as a share of the best schedule.
func (f *foresighted) quality(e *earner) (share float64, ok bool) {
	return foresight.Quality(e.earned, f.rules[len(f.rules)-1].earned)
}

// quality holds each rule against the best schedule.
func (a *seasons) quality(out *strings.Builder) {
	out.WriteString("\nAgainst one who knew the weather\n")
	if a.best.unpriced {
		a.unpriced(out)
		return
	}
	const row = "  %-26s %8s %9s\n"
	fmt.Fprintf(out, row, "", "earned", "quality")
	fmt.Fprintf(out, "  %-26s %8s\n", "", unit.Symbol(a.s.Currency)+"/yr")
	earns := true
	for _, e := range append([]earner{{name: "never running"}}, a.best.rules...) {
		part, ok := a.best.quality(&e)
		share := "-"
		if earns = ok; ok {
			share = unit.Number(100*part, 0) + " %"
		}
		fmt.Fprintf(out, row, e.name, unit.Number(e.earned, 0), share)
	}
	fmt.Fprintf(out, "  %-26s %8s\n", "a reduced model says", unit.Number(a.best.model, 0))
	for _, text := range a.explain(earns) {
		out.WriteString("\n" + wrap(text, plainWidth, 0) + "\n")
	}
}

// explain says what the figures are.
func (a *seasons) explain(earns bool) (all []string) {
	show, b := a.s.Display, a.best
	if !earns {
		all = append(all, "Even one who knew the whole year's weather could not have earned anything with these fans: "+
			"nothing is a share of that.")
	}
	all = append(all, "The best schedule was found with the whole year's weather known and then run by the full simulation, within "+
		"the limits, least runs and least rests of the settings. It spends nothing on frost or on damp air; for money "+
		"alone the settings do neither. The reduced model is a sketch by which the schedule was found, not a bound.",
		fmt.Sprintf("The best-tuned pair puts heat down with the house %s over the soil, and brings it up under %s with the soil "+
			"%s over the house.", show.Difference(b.pair.Margin), show.Setting(b.pair.Setpoint), show.Difference(b.pair.Gain)))
	if len(b.beaten) > 0 {
		all = append(all, fmt.Sprintf("The schedule that was found first earned less than %s; the best schedule follows the best of "+
			"these where that earns more.", strings.Join(b.beaten, " and ")))
	}
	return all
}

// unpriced says why there is no quality, and what there is instead.
func (a *seasons) unpriced(out *strings.Builder) {
	why := "The electricity or the heater's fuel has no price"
	if !a.h.House.Decide.Heater.Present {
		why = "There is no heater, so fans save no fuel"
	}
	out.WriteString(wrap(why+": what a schedule earns in money is not known, nor a share of it; a crop saved is not counted "+
		"in money. Under the frost limit, summed over the year:", plainWidth, 0) + "\n")
	for _, y := range []struct {
		name string
		r    *trial.Result
	}{{"never running", a.never}, {"the usual pair", a.pair}, {"its settings", a.policy}} {
		under := unit.Kelvin(y.r.Total().FrostKS / 3600)
		fmt.Fprintf(out, "  %-26s %s h\n", y.name, a.s.Display.Difference(under))
	}
}
