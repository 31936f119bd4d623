package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"loambank/config/unit"
	"loambank/controller/plan/size"
)

// text writes the ladder, the answer and the safety words for people.
func (a *sizing) text(w io.Writer) error {
	var out strings.Builder
	fmt.Fprintf(&out, "House %s in the weather of %s\n\n", a.h.House.Name, a.year.Station)
	a.ladder(&out)
	out.WriteString("\n" + wrap(a.answer(), plainWidth, 0) + "\n")
	if a.choice.Store >= 0 {
		a.details(&out)
		a.match(&out)
	}
	if len(a.weighs) > 0 {
		a.sensitivity(&out)
	}
	for _, note := range append(a.year.Notes(), sizeCaveat, sizeSafety) {
		out.WriteString("\n" + wrap(note, plainWidth, 0) + "\n")
	}
	_, err := io.WriteString(w, out.String())
	return err
}

const (
	sizeCaveat = "House, soil and fans are simulated; costs that are not stated under [costs] are US dollars " +
		"from memory. Values are of today's money over the stated years. METHODS.md names each assumption."
	sizeSafety = "Safety: mains wiring by a licensed electrician to local code, ground-fault protection in wet places, " +
		"an independent thermostat as freeze backup; a combustion heater needs outside air and a CO alarm. Trenches " +
		"collapse: do not work in a deep one. Ask about buried utilities before digging. Test for radon where the " +
		"region is known for it. loambank is a convenience control, not a safety device."
)

func (a *sizing) symbol() string {
	if s := unit.Symbol(a.s.Currency); s != "" {
		return s
	}
	return "$"
}

// ladder is the table of designs.
func (a *sizing) ladder(out *strings.Builder) {
	degree := a.s.Display.Degree()
	head, row := "%2s %-38s %6s %6s %6s %6s %6s %5s", "%2d %-38s %6.0f %6.0f %6s %6.0f %6.0f %5d"
	fmt.Fprintf(out, head, "", "", "build", "heater", "low", "risk", "fans", "safe")
	if a.choice.Priced {
		fmt.Fprintf(out, " %7s %7s", "saves", "worth")
	}
	fmt.Fprintf(out, "\n"+head, "", "", a.symbol(), "kWh", degree, "h", "kWh", "days")
	if a.choice.Priced {
		fmt.Fprintf(out, " %7s %7s", a.symbol()+"/yr", a.symbol())
	}
	out.WriteString("\n")
	for i := range a.rungs {
		r := &a.rungs[i]
		name := r.Name
		if i == a.choice.Knee {
			name += " (knee)"
		}
		if !r.Lived {
			fmt.Fprintf(out, "%2d %-38s not possible, see below\n", i+1, name)
			continue
		}
		o := &r.Outcome
		low := strings.TrimSuffix(a.s.Display.Temperature(o.Low), " "+degree)
		fmt.Fprintf(out, row, i+1, name, r.Costs, o.HeaterKWh, low, o.FrostH, o.FanKWh, o.SafeDays)
		if a.choice.Priced {
			fmt.Fprintf(out, " %7s %7s", unit.Change(r.Saves, 0), unit.Change(r.Value, 0))
		}
		out.WriteString("\n")
	}
	for i := range a.rungs {
		if why := a.why(&a.rungs[i]); why != "" && a.choice.Store >= 0 {
			out.WriteString("\n" + wrap(fmt.Sprintf("%d is not possible: %s.", i+1, why), plainWidth, 0) + "\n")
		}
	}
	for _, text := range a.variants() {
		out.WriteString("\n" + wrap(text, plainWidth, 0) + "\n")
	}
	out.WriteString("\n" + wrap("Build is the covers and the store on a bare frame; risk is time at or under the frost limit, safe days have none of it. "+
		a.worthWords(), plainWidth, 0) + "\n")
}

// variants are what stone or a board would bring over the same pipes without it.
func (a *sizing) variants() (all []string) {
	for i := range a.rungs {
		r := &a.rungs[i]
		with := a.without(r)
		if with == nil || !a.choice.Priced {
			continue
		}
		cost, saves := r.Costs-with.Costs, r.Saves-with.Saves
		what, back := "A board round it", "it never pays back"
		if r.Stone {
			what = "Stone round the pipes"
		}
		if years, err := size.Payback(cost, saves); err == nil {
			back = fmt.Sprintf("it pays back in %.0f years", years)
		}
		does := "saves"
		if saves < 0 {
			does = "wastes"
		}
		all = append(all, fmt.Sprintf("%s (%d) costs %s %s more and %s %.0f a year: %s.", what, i+1,
			unit.Number(cost, 0), a.symbol(), does, math.Abs(saves), back))
	}
	return all
}

// without is the store of the ladder that a store beside it changes; nil where there is none.
func (a *sizing) without(r *size.Rung) *size.Rung {
	for i := range a.rungs {
		b := &a.rungs[i]
		if r.Beside && r.Lived && r.Store() && b.Lived && !b.Beside && b.Pipes == r.Pipes {
			return b
		}
	}
	return nil
}

func (a *sizing) worthWords() string {
	if !a.choice.Priced {
		return "Without prices of fuel and electricity, or without a heater, no money is saved that could be counted."
	}
	return fmt.Sprintf("Savings and present worth, over %g years at %s of interest, are against the first design.",
		a.s.Costs.Years, a.s.Display.Share(a.s.Costs.Rate))
}

// answer is what to do.
func (a *sizing) answer() string {
	if a.choice.Store < 0 {
		return "Do not build a store here. " + a.reasons()
	}
	store, bare := &a.rungs[a.choice.Store], &a.rungs[a.choice.Bare]
	switch {
	case a.choice.Build && a.choice.Priced:
		return fmt.Sprintf("Build %d, %s: %s.%s", a.choice.Store+1, store.Name, a.pays(store, bare), a.screenFirst(store))
	case a.choice.Build:
		return fmt.Sprintf("Build %d, %s: %.0f h a year at the frost limit instead of %.0f.", a.choice.Store+1, store.Name, store.Outcome.FrostH, bare.Outcome.FrostH)
	case a.choice.Priced:
		return fmt.Sprintf("Do not build a store for its money: the best of them, %d, %s, does not earn what it costs: %s.%s", a.choice.Store+1, store.Name, a.pays(store, bare), a.screenFirst(store))
	}
	return "Do not build a store: none spares the crop an hour at its frost limit."
}

// screenFirst says so where a screen is worth more than the store.
func (a *sizing) screenFirst(store *size.Rung) string {
	for i := range a.rungs {
		if r := &a.rungs[i]; r.Lived && r.Screen && !r.Bare && !r.Store() && r.Value > store.Value {
			return fmt.Sprintf(" A screen, %d, is worth more: close one in the dark first; under it a store spares less.", i+1)
		}
	}
	return ""
}

// pays is what the store costs and brings over the same house without it.
func (a *sizing) pays(store, bare *size.Rung) string {
	cost := store.Costs - bare.Costs
	back := "it never pays back"
	if years, err := size.Payback(cost, a.spread.mean); err == nil {
		back = fmt.Sprintf("it pays back in %.0f years", years)
	}
	worth := func(saved float64) float64 {
		return size.PresentValue(cost, saved, a.s.Costs.Rate, a.s.Costs.Years)
	}
	low, high := worth(a.spread.mean-a.spread.off), worth(a.spread.mean+a.spread.off)
	return fmt.Sprintf("over the same house without it, it costs %.0f %s and saves %s ± %.0f a year; %s; its present worth is %s, between %s and %s",
		cost, a.symbol(), unit.Number(a.spread.mean, 0), a.spread.off, back, unit.Change(worth(a.spread.mean), 0),
		unit.Change(min(low, high), 0), unit.Change(max(low, high), 0))
}

// why is what forbids a design, with the nearest that is possible, or "".
func (a *sizing) why(r *size.Rung) string {
	if r.Err != nil {
		return r.Err.Error()
	}
	for _, o := range r.Obstacles {
		switch {
		case o.Forbids && o.Nearest.Count > 0:
			return o.What + "; the nearest that is possible is " + a.pipes(&size.Design{Pipes: o.Nearest})
		case o.Forbids:
			return o.What
		}
	}
	return ""
}

// reasons are why there is no store at all.
func (a *sizing) reasons() string {
	for i := range a.rungs {
		if why := a.why(&a.rungs[i]); why != "" {
			return "Why: " + why + "."
		}
	}
	return fmt.Sprintf("None costs less than the purse, %.0f %s.", a.s.Costs.Purse, a.symbol())
}

// pipes is how a store is laid.
func (a *sizing) pipes(d *size.Design) string {
	show, p := a.s.Display, d.Pipes
	return fmt.Sprintf("%d pipes of %s, %s wide, %s apart, %s deep", p.Count, show.Length(p.LengthM), show.Length(p.DiameterM),
		show.Length(p.SpacingM), show.Length(p.DepthM))
}

// details are what to build.
func (a *sizing) details(out *strings.Builder) {
	r, bare := &a.rungs[a.choice.Store], &a.rungs[a.choice.Bare]
	show, d, floorM2 := a.s.Display, r.Duct, a.h.LengthM*a.h.WidthM
	fmt.Fprintf(out, "\n%d, %s\n", a.choice.Store+1, r.Name)
	line := func(name, text string) {
		const indent = 19
		// The first line begins behind the name.
		text = wrap(strings.Repeat("-", indent-1)+" "+text, plainWidth, indent)[indent:]
		fmt.Fprintf(out, "  %-16s %s\n", name, text)
	}
	line("pipes", a.pipes(&r.Design)+", corrugated and perforated")
	line("fan", fmt.Sprintf("%s at %.0f Pa, %s, %.1f air changes an hour; %.1f m/s in the pipes, %s", show.Flow(d.FlowM3s), d.LossPa,
		show.Power(d.PowerW), d.AirChangesPerHour, d.SpeedMs, d.Noise()))
	line("runs", fmt.Sprintf("%.0f h and %.0f kWh a year; heat in %.0f, out %.0f kWh", r.Outcome.FanH, r.Outcome.FanKWh, r.Outcome.InKWh, r.Outcome.OutKWh))
	line("condensate", fmt.Sprintf("up to %.0f L a day must drain (mean of the wettest month)", r.Outcome.CondensateLDay))
	line("season", fmt.Sprintf("lowest %s instead of %s; %.1f more weeks of days over the frost limit; %.0f kWh of heater heat spared",
		show.Temperature(r.Outcome.Low), show.Temperature(bare.Outcome.Low), float64(r.Outcome.SafeDays-bare.Outcome.SafeDays)/7,
		bare.Outcome.HeaterKWh-r.Outcome.HeaterKWh))
	line("cost", fmt.Sprintf("%.0f %s over the bare house, %.0f for each m² of floor", r.Costs-bare.Costs, a.symbol(), (r.Costs-bare.Costs)/floorM2))
	for _, o := range r.Obstacles {
		line("before digging", o.What)
	}
}

// match is solar panels against the fans.
func (a *sizing) match(out *strings.Builder) {
	n, g := a.solar.netMetered, a.solar.offGrid
	if n.ArrayKW == 0 {
		return
	}
	fmt.Fprintf(out, "\nSolar panels, tilted as the latitude\n  %-10s %10s %18s\n  %-10s %10s %18s\n", "month", "fans", "panels", "", "kWh", fmt.Sprintf("kWh from %.2f kW", n.ArrayKW))
	for m, name := range monthNames {
		fmt.Fprintf(out, "  %-10s %10.0f %18.0f\n", name, a.solar.fans[m], a.solar.yield[m]*n.ArrayKW)
	}
	text := fmt.Sprintf("Where the grid takes and gives at one price, %.2f kW bring the fans' yearly bill to zero; they use %.0f %% of the yield in the same hour, the rest goes over the grid. ",
		n.ArrayKW, 100*n.Own)
	if g.ArrayKW == 0 {
		text += "Without a grid no array that could be thought of carries the fans."
	} else {
		text += fmt.Sprintf("Without a grid %.1f kW with %.1f kWh of battery leave %.1f %% of their use unmet and cost %.0f %s: winter nights ask when the sun gives least.",
			g.ArrayKW, g.BatteryKWh, 100*g.Lost, g.Cost, a.symbol())
	}
	out.WriteString("\n" + wrap(text, plainWidth, 0) + "\n")
}

// sensitivity is what each assumption weighs.
func (a *sizing) sensitivity(out *strings.Builder) {
	fmt.Fprintf(out, "\nWhat the store saves in a year, %s, with one assumption changed; %.0f in the file's own year\n", a.symbol(), a.own)
	writeWeights(out, a.weighs)
}
