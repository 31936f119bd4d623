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
	a.tellAirflow(&out)
	fmt.Fprintf(&out, "House %s in the weather of %s\nSettings tried: %d. Years: %d seen by the search, %d others to judge it.\n\n",
		a.h.House.Name, a.year.Station, len(a.study.Trials), len(a.study.Seeds), a.Unseen)
	a.table(&out)
	out.WriteString("\n" + wrap(a.why(), plainWidth, 0) + "\n")
	out.WriteString("\n" + wrap(a.when(), plainWidth, 0) + "\n")
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
	out.WriteString("\n" + wrap(a.caveat(), plainWidth, 0) + "\n")
	_, err := io.WriteString(w, out.String())
	return err
}

// table is the trade-off in the years that the search did not see.
func (a *advice) table(out *strings.Builder) {
	degree := a.s.Display.Degree()
	const row = "  %-14s %12s %10s %10s %10s %12s\n"
	fmt.Fprintf(out, row, "", "cost", "at risk", "fans", "lowest", "cost, seen")
	fmt.Fprintf(out, row, "", a.unitOfCost()+"/year", "h/year", "h/year", degree, a.unitOfCost()+"/year")
	line := func(name string, unseen, seen *tune.Trial) {
		m, s := unseen.Mean(), "-"
		if seen != nil {
			s = fmt.Sprintf("%.0f", seen.Mean().Cost)
		}
		low := strings.TrimSpace(strings.TrimSuffix(a.s.Display.Temperature(unit.Celsius(m.LowC)), degree))
		fmt.Fprintf(out, row, name, fmt.Sprintf("%.0f", m.Cost), fmt.Sprintf("%.1f", m.RiskH), fmt.Sprintf("%.0f", m.FanH), low, s)
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
func (a *advice) why() string {
	price := fmt.Sprintf("With an hour at the frost limit counted as %s", a.money(a.riskCost))
	now, then := a.todayUnseen.Mean(), a.bestUnseen.Mean()
	gain := fmt.Sprintf("%s ± %s a year in years the search did not see (fuel and electricity %s instead of %s, %.1f h at the frost limit instead of %.1f)",
		a.money(a.gain.Mean), a.money(a.gain.Spread), a.money(then.Cost), a.money(now.Cost), then.RiskH, now.RiskH)
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
		return fmt.Sprintf("%.2f %s", amount, a.unitOfCost())
	}
	return fmt.Sprintf("%.0f %s", amount, a.unitOfCost())
}

func (a *advice) caveat() string {
	return fmt.Sprintf("Years are made from one file: ten-day blocks moved by up to fifteen days, seed %d. They know no winter colder "+
		"than the file's. House, soil and fans are simulated; what the settings do not say of them is usual practice. ± is the "+
		"range in which the mean of such years lies with 95 %%.", a.Seed)
}
