package main

import (
	"fmt"

	"loambank/config/unit"
	"loambank/controller/plan/tune"
	"loambank/controller/season"
)

// heated reports whether a heater stands by.
func (a *advice) heated() bool { return a.h.House.Decide.Heater.Present }

// from is the week from which on topping up pays.
func (a *advice) from() (first int, ok bool) { return tune.ToppingUp(a.weeks, a.heated()) }

// when says from which date topping up pays, and why not before.
func (a *advice) when() string {
	first, ok := a.from()
	switch {
	case !ok && !a.heated():
		return "Heat put into the stores spares the crop no hour under its frost limit: there is no date from which to top up."
	case !ok:
		return "Topping up pays in no week to the turn of the year: what is put down spares less of the heater's heat than the fans' electricity is worth."
	}
	w := &a.weeks[first]
	text := fmt.Sprintf("Topping up pays from %s on: ", day(w.Begins))
	if !a.heated() {
		text += fmt.Sprintf("100 kWh put down in that week spare the crop %s h under its frost limit; before, they spare less than a tenth of what they do in the best week. ",
			a.s.Display.Difference(unit.Kelvin(100*w.Spared)))
		return text + practice
	}
	text += fmt.Sprintf("of a kWh put down in that week %.0f %% spare heat of the heater later, and a kWh of electricity puts %.0f kWh down, so it spares %.1f kWh; it must spare %.1f to pay for that. ",
		100*w.Spared, w.PerKWh, w.Spared*w.PerKWh, w.Needs)
	if s := a.summer(); s != nil && s != w {
		text += fmt.Sprintf("In the best week of high summer, from %s on, it spares %.1f: that heat is gone by winter, and the soil is warm without it. ", day(s.Begins), max(0, s.Spared*s.PerKWh))
	}
	return text + practice
}

const practice = "Common practice, without a source: mid-September in temperate damp climates, mid to late August in " +
	"colder ones, later in the south; a house that is kept only just over freezing asks later than that."

// summer is the week of high summer, in which weeks begin, whose heat is worth most; nil where none has an
// hour for it.
func (a *advice) summer() (best *tune.Week) {
	const high = 9 // weeks: July and August in the north
	for i := range a.weeks[:min(high, len(a.weeks))] {
		w := &a.weeks[i]
		if w.Hours > 0 && (best == nil || w.Spared*w.PerKWh > best.Spared*best.PerKWh) {
			best = w
		}
	}
	return best
}

// day is a date as people say it.
func day(d season.MonthDay) string { return fmt.Sprintf("%d %s", d.Day, d.Month) }
