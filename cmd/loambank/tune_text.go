package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"loambank/config/unit"
	"loambank/controller/plan/tune"
)

// text writes the advice for people.
func (a *advice) text(w io.Writer) error {
	var out strings.Builder
	words := a.bench.words()
	out.WriteString(words.before)
	fmt.Fprintf(&out, "House %s %s\nSettings tried: %d. %s\n\n", a.h.House.Name, words.on, len(a.study.Trials), words.parts)
	if words.learned != "" {
		out.WriteString(wrap(words.learned, plainWidth, 0) + "\n\n")
	}
	a.table(&out, words.per)
	out.WriteString("\n" + wrap(a.why(words), plainWidth, 0) + "\n")
	if a.weeks != nil {
		out.WriteString("\n" + wrap(a.when(), plainWidth, 0) + "\n")
	}
	if len(a.weighs) > 0 {
		fmt.Fprintf(&out, "\nWhat the advice saves in the file's own year, %s, with one assumption changed\n", a.unitOfCost())
		writeWeights(&out, a.weighs)
	}
	if a.gain.Certain() {
		out.WriteString("\nTo write into the settings:\n\n")
		for l := range strings.Lines(a.space.Snippet(a.best.Point)) {
			out.WriteString("  " + l)
		}
	}
	out.WriteString("\n" + wrap(words.caveat, plainWidth, 0) + "\n")
	_, err := io.WriteString(w, out.String())
	return err
}

// table is the trade-off in what the search did not see; per is the time that costs are told for.
func (a *advice) table(out *strings.Builder, per string) {
	degree := a.s.Display.Degree()
	const row = "  %-14s %12s %10s %10s %10s %12s\n"
	fmt.Fprintf(out, row, "", "cost", "at risk", "fans", "lowest", "cost, seen")
	fmt.Fprintf(out, row, "", a.unitOfCost()+"/"+per, "h/"+per, "h/"+per, degree, a.unitOfCost()+"/"+per)
	line := func(name string, unseen, seen *tune.Trial) {
		m, s := unseen.Mean(), "-"
		if seen != nil {
			s = unit.Number(seen.Mean().Cost, 0)
		}
		low := strings.TrimSpace(strings.TrimSuffix(a.s.Display.Temperature(unit.Celsius(m.LowC)), degree))
		fmt.Fprintf(out, row, name, unit.Number(m.Cost, 0), fmt.Sprintf("%.1f", m.RiskH), fmt.Sprintf("%.0f", m.FanH), low, s)
	}
	line("today", a.todayUnseen, a.seenToday())
	for i, f := range a.front {
		name := fmt.Sprintf("%d", i+1)
		if f == a.best {
			name += " advised"
		}
		line(name, a.frontUnseen[i], f)
	}
}

func (a *advice) seenToday() *tune.Trial {
	for i := range a.study.Trials {
		if t := &a.study.Trials[i]; a.space.IsToday(t.Point) {
			return t
		}
	}
	return nil
}

// why says what is advised and how sure it is.
func (a *advice) why(words *words) string {
	price := fmt.Sprintf("With an hour at the frost limit counted as %s", a.money(a.riskCost))
	now, then := a.todayUnseen.Mean(), a.bestUnseen.Mean()
	gain := fmt.Sprintf("%s ± %s %s %s (fuel and electricity %s instead of %s, %.1f h at the frost limit instead of %.1f)",
		a.money(a.gain.Mean), a.money(a.gain.Spread), words.inTime, words.unseen, a.money(then.Cost), a.money(now.Cost), then.RiskH, now.RiskH)
	switch {
	case a.space.IsToday(a.best.Point):
		return price + ", nothing that was tried is better than today's settings."
	case a.gain.Certain():
		return price + ", the advised settings save " + gain + "."
	}
	return price + ", today's settings are already within noise of the best that was found: the difference is " + gain + "."
}

func (a *advice) money(amount float64) string {
	if math.IsInf(amount, 0) {
		return "unknown"
	}
	if math.Abs(amount) < 10 {
		return unit.Number(amount, 2) + " " + a.unitOfCost()
	}
	return unit.Number(amount, 0) + " " + a.unitOfCost()
}
