package main

import (
	"fmt"
	"io"
	"strings"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/trial"
)

// text writes the years for people.
func (a *seasons) text(w io.Writer) error {
	var out strings.Builder
	show := a.s.Display
	a.tellAirflow(&out)
	fmt.Fprintf(&out, "House %s in the weather of %s, simulated\n", a.h.House.Name, a.year.Station)
	a.table(&out, "Under its settings", a.policy)
	a.table(&out, "Never running its fans", a.never)
	a.table(&out, fmt.Sprintf("Two thermostats, fans on over %s and under %s", show.Setting(a.rules.ChargeOver),
		show.Setting(a.rules.DischargeUnder)), a.pair)
	a.compare(&out)
	if a.best != nil {
		a.quality(&out)
	}
	out.WriteString("\n" + wrap("Hours are of stores, \"in\" and \"out\" is heat into the soil and out of it by the fans' air, \"risk\" is "+
		"time with air at or under the frost limit. House, soil and fans are simulated; what the settings do not say of "+
		"them is usual practice; check prints what is assumed. A flow from a catalogue counts half.", plainWidth, 0) + "\n")
	for _, note := range a.year.Notes() {
		out.WriteString(wrap("The weather file: "+note+".", plainWidth, 2) + "\n")
	}
	_, err := io.WriteString(w, out.String())
	return err
}

// table writes a year by months.
func (a *seasons) table(out *strings.Builder, title string, r *trial.Result) {
	fmt.Fprintf(out, "\n%s\n", title)
	heated := a.h.House.Decide.Heater.Present
	const head = "  %-10s %6s %9s %5s %5s %5s %5s %5s %6s %6s"
	for _, line := range [...][]any{
		{"month", "charge", "discharge", "frost", "dry", "fans", "in", "out", "lowest", "risk"},
		{"", "h", "h", "h", "h", "kWh", "kWh", "kWh", a.s.Display.Degree(), "h"},
	} {
		fmt.Fprintf(out, head, line...)
		if heated && line[0] == "month" {
			fmt.Fprintf(out, " %6s", "heater")
		} else if heated {
			fmt.Fprintf(out, " %6s", "kWh")
		}
		out.WriteString("\n")
	}
	for i := range r.Months {
		a.row(out, r.Months[i].Month.String(), &r.Months[i])
	}
	total := r.Total()
	a.row(out, "whole year", &total)
}

func (a *seasons) row(out *strings.Builder, name string, m *trial.Month) {
	h := func(states ...decide.Activity) (sum float64) {
		for _, s := range states {
			sum += m.StateS[s] / 3600
		}
		return sum
	}
	low := strings.TrimSuffix(a.s.Display.Temperature(m.Low), " "+a.s.Display.Degree())
	fmt.Fprintf(out, "  %-10s %6.0f %9.0f %5.0f %5.0f %5.0f %5.0f %5.0f %6s %6.0f", name, h(decide.Charge), h(decide.Discharge),
		h(decide.Frost), h(decide.Dry), m.FanKWh, m.InKWh, m.OutKWh, low, m.FrostS/3600)
	if a.h.House.Decide.Heater.Present {
		fmt.Fprintf(out, " %6.0f", m.HeaterKWh)
	}
	out.WriteString("\n")
}

// compare says what the fans earned over never running them.
func (a *seasons) compare(out *strings.Builder) {
	never := a.never.Total()
	out.WriteString("\nAgainst never running\n")
	for _, y := range []struct {
		name string
		r    *trial.Result
	}{{"under its settings", a.policy}, {"two thermostats", a.pair}} {
		t := y.r.Total()
		var parts []string
		if a.h.House.Decide.Heater.Present {
			parts = append(parts, fmt.Sprintf("heater %s kWh", unit.Change(t.HeaterKWh-never.HeaterKWh, 0)))
		}
		parts = append(parts, fmt.Sprintf("fans %.0f kWh", t.FanKWh),
			fmt.Sprintf("lowest %s instead of %s", a.s.Display.Temperature(t.Low), a.s.Display.Temperature(never.Low)),
			fmt.Sprintf("%.0f h at the frost limit instead of %.0f", t.FrostS/3600, never.FrostS/3600))
		if symbol := unit.Symbol(a.s.Currency); symbol != "" {
			parts = append(parts, fmt.Sprintf("%s %s a year (fuel %s, electricity %.0f)",
				unit.Change(never.Fuel-t.Fuel-t.Electricity, 0), symbol, unit.Change(t.Fuel-never.Fuel, 0), t.Electricity))
		}
		const indent = 21
		text := wrap(strings.Join(parts, ", "), plainWidth-indent, 0)
		fmt.Fprintf(out, "  %-18s %s\n", y.name, strings.ReplaceAll(text, "\n", "\n"+strings.Repeat(" ", indent)))
	}
}
