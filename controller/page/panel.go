package page

import (
	"cmp"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"loambank/config/unit"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

// panel is a house in words, as the template "house" shows it.
type panel struct {
	ID, Name, Link  string
	Tone            string // calm, care or risk; words say the same
	AgeMs, LateMs   int64
	Clock, Day, Age string
	NoContact       bool
	Lead, Rest      string // of the sentence
	Warnings        []Warning
	Facts           []fact
	Left            []string // what is left tonight
	Stores          []storePanel
	Columns         []string
	Account         []accountRow
	Estimates       bool
	Method          []string // how what was saved is reckoned
	Probes          []probeRow
}

// fact is one reading that matters.
type fact struct{ Label, Value, Note string }

type storePanel struct {
	Name, Doing string
	Filled      bool
	Fill        int // percent
	FillText    string
	Drawing     *drawing
}

type accountRow struct {
	Label string
	Cells []string
}

// probeRow is one probe with its health.
type probeRow struct{ Name, Where, Value, Health, Age string }

// panelOf renders a house.
func panelOf(h *House, how *pick) *panel {
	d, whole := h.style.display, how.whole
	p := &panel{
		ID: "h" + hex.EncodeToString([]byte(h.Name)), Name: h.Name, Link: houseLink(h.Name), Tone: "calm",
		AgeMs: int64(h.AgeS * 1000), LateMs: int64(h.LateS * 1000), Clock: h.Time.Format("15:04"), Day: h.Time.Format("Mon 2 Jan"),
		Age: d.Duration(math.Round(h.AgeS)), NoContact: h.NoContact, Warnings: h.Warnings, Facts: facts(h),
		Left: leftWords(h),
	}
	if how.alone {
		p.Link = ""
	}
	if h.NoContact && len(p.Warnings) > 0 {
		p.Warnings = p.Warnings[1:] // the page says it in its own place, also later and by itself
	}
	if len(h.Warnings) > 0 {
		p.Tone = "care"
	}
	for _, w := range h.Warnings {
		if w.Now {
			p.Tone = "risk"
		}
	}
	p.Lead, p.Rest, _ = strings.Cut(degreesTogether.Replace(h.Sentence), ". ")
	if p.Rest != "" {
		p.Lead += "."
	}
	for i := range h.Stores {
		p.Stores = append(p.Stores, storeWords(h, i, whole))
	}
	p.accountWords(h)
	if whole {
		p.Probes = probeRows(h)
	}
	return p
}

// degreesTogether keeps a line from ending between a figure and its degrees.
var degreesTogether = strings.NewReplacer(" °F", "\u00a0°F", " °C", "\u00a0°C")

// facts are the few readings that matter, the crop's air first.
func facts(h *House) (all []fact) {
	d := h.style.display
	degrees := func(c *float64) string {
		if c == nil {
			return "not known"
		}
		return d.Temperature(unit.Celsius(*c))
	}
	all = append(all, fact{"House", degrees(h.CropC), worst(h, judge.Air)})
	if h.LowestC != nil && h.LowestAt != nil {
		all = append(all, fact{"Lowest since sunset", degrees(h.LowestC), "at " + h.LowestAt.Format("15:04")})
	}
	if has(h, judge.Humidity) {
		value := "not known"
		if h.HumidityRatio != nil {
			value = percent(*h.HumidityRatio)
		}
		all = append(all, fact{"Humidity", value, worst(h, judge.Humidity)})
	}
	var soil []*Reading
	for i := range h.Readings {
		if h.Readings[i].Role == judge.Soil.String() {
			soil = append(soil, &h.Readings[i])
		}
	}
	slices.SortStableFunc(soil, func(a, b *Reading) int {
		return cmp.Or(cmp.Compare(a.Store, b.Store), cmp.Compare(a.DepthM, b.DepthM))
	})
	for _, r := range soil {
		all = append(all, fact{soilLabel(h, r), degrees(r.TemperatureC), health(r, d)})
	}
	if has(h, judge.Outside) {
		all = append(all, fact{"Outside", degrees(h.OutsideC), worst(h, judge.Outside)})
	}
	return all
}

func soilLabel(h *House, r *Reading) string {
	label := "Soil, " + r.Probe
	if r.DepthM > 0 {
		label = "Soil " + h.style.display.Length(r.DepthM)
	}
	if r.Place == judge.Undisturbed.String() {
		label += ", untouched"
	}
	if len(h.Stores) > 1 && r.Store != "" {
		label += ", " + r.Store
	}
	return label
}

func has(h *House, role judge.Role) bool {
	return slices.ContainsFunc(h.Readings, func(r Reading) bool { return r.Role == role.String() })
}

// worst says how the probes of a role are, where one is not well.
func worst(h *House, role judge.Role) string {
	for i := range h.Readings {
		if r := &h.Readings[i]; r.Role == role.String() {
			if text := health(r, h.style.display); text != "" {
				return r.Probe + ": " + text
			}
		}
	}
	return ""
}

// freshS is the age up to which a reading needs no word of it, s.
const freshS = 60

// health says how far a reading may be relied on, and how old it is; nothing where all is well.
func health(r *Reading, d unit.Display) string {
	var parts []string
	if r.Quality != judge.Good.String() {
		parts = append(parts, r.Quality+", "+strings.ReplaceAll(r.Cause, "-", " "))
	}
	if r.AgeS >= freshS {
		parts = append(parts, d.Duration(r.AgeS)+" old")
	}
	return strings.Join(parts, ", ")
}

func percent(ratio float64) string { return fmt.Sprintf("%.0f %%", 100*ratio) }

// leftWords say what is left tonight; nothing while that is not known.
func leftWords(h *House) (all []string) {
	d := h.style.display
	if t := h.Tonight; t != nil {
		text := "The setpoint holds down to " + d.Temperature(unit.Celsius(t.HoldOutsideC)) + " outside"
		if t.LowC != nil {
			text += "; " + d.Temperature(unit.Celsius(*t.LowC)) + " is expected"
			if t.LowFrom != "" {
				text += " (" + t.LowFrom + ")"
			}
		}
		all = append(all, text+".")
	}
	for i := range h.Stores {
		switch s := &h.Stores[i]; {
		case s.AvailableKWh == nil:
		case *s.AvailableKWh < 0.5: // where a store has nothing to give, tonight also asks nothing of it
			all = append(all, s.Name+": no heat left that would warm the house.")
		case s.LastsTheNight:
			all = append(all, fmt.Sprintf("%s: %s left, enough for the night.", s.Name, d.Heat(*s.AvailableKWh*3.6e6)))
		case s.HoursLeftS != nil:
			all = append(all, fmt.Sprintf("%s: %s left, %s at tonight's loss.", s.Name, d.Heat(*s.AvailableKWh*3.6e6), d.Duration(*s.HoursLeftS)))
		default:
			all = append(all, fmt.Sprintf("%s: %s left.", s.Name, d.Heat(*s.AvailableKWh*3.6e6)))
		}
	}
	if h.Tonight != nil {
		switch h.Tonight.Binds {
		case "rate":
			all = append(all, "What binds is how fast heat comes up, not how much there is.")
		case "amount":
			all = append(all, "What binds is how much heat there is, not how fast it comes up.")
		}
	}
	return all
}

func storeWords(h *House, i int, whole bool) storePanel {
	s, d := &h.Stores[i], h.style.display
	p := storePanel{Name: s.Name, Doing: s.State}
	switch {
	case s.Running && s.HeatW < -50:
		p.Doing += ", fans on, about " + d.HeatRate(-s.HeatW) + " up"
	case s.Running && s.HeatW > 50:
		p.Doing += ", fans on, about " + d.HeatRate(s.HeatW) + " down"
	case s.Running:
		p.Doing += ", fans on"
	default:
		p.Doing += ", fans off"
	}
	if s.FillRatio != nil {
		p.Filled, p.Fill = true, int(math.Round(100*min(1, max(0, *s.FillRatio))))
		p.FillText = percent(*s.FillRatio) + " full"
	}
	if whole {
		p.Drawing = draw(h, i)
	}
	return p
}

// accountWords fills in the account's table.
func (p *panel) accountWords(h *House) {
	var of []*Account
	add := func(a *Account, name string) {
		if a != nil {
			p.Columns, of = append(p.Columns, name), append(of, a)
		}
	}
	add(h.Today, "Today")
	if h.Season != nil {
		add(h.Season, "Since "+h.Season.From.Format("2 Jan"))
	} else {
		add(h.Total, "Since it began")
	}
	row := func(label string, text func(a *Account) (string, bool)) {
		r := accountRow{Label: label}
		for _, a := range of {
			value, estimate := text(a)
			if estimate {
				value, p.Estimates = "≈ "+value, true
			}
			r.Cells = append(r.Cells, strings.ReplaceAll(value, " ", "\u00a0"))
		}
		p.Account = append(p.Account, r)
	}
	if len(of) == 0 {
		return
	}
	d := h.style.display
	defer p.savedWords(of, d, h.style.zone)
	heat := func(kWh float64) string { return d.Heat(kWh * 3.6e6) }
	row("Fan hours", func(a *Account) (string, bool) { return fmt.Sprintf("%.1f", a.FanHours), false })
	row("Electricity", func(a *Account) (string, bool) { return heat(a.ElectricityKWh), a.ElectricityEstimated })
	row("Heat put down", func(a *Account) (string, bool) { return heat(a.HeatInKWh), a.HeatEstimated })
	row("Heat brought up", func(a *Account) (string, bool) { return heat(a.HeatOutKWh), a.HeatEstimated })
	if of[0].Currency == "" {
		return
	}
	row("Electricity cost", func(a *Account) (string, bool) {
		return report.Money(a.ElectricityMoney, a.Currency), a.ElectricityEstimated
	})
	if of[0].FuelAvoidedMoney != nil {
		row("Fuel not burnt", func(a *Account) (string, bool) { return report.Money(*a.FuelAvoidedMoney, a.Currency), true })
	}
}

// savedWords adds what was saved in the times of the account, and how that is reckoned.
func (p *panel) savedWords(of []*Account, d unit.Display, zone *time.Location) {
	var told []*ledger.Saving
	for _, a := range of {
		told = append(told, a.told)
	}
	for _, r := range report.SavedRows(told, d) {
		row := accountRow{Label: r.Label}
		for _, cell := range r.Cells {
			row.Cells = append(row.Cells, figuresTogether(cell))
		}
		p.Account = append(p.Account, row)
	}
	p.Method = append(report.SavedMethod(told), report.SavedGaps(told, zone)...)
}

// figuresTogether keeps a line from ending within a figure; it may end before its ±.
func figuresTogether(cell string) string {
	if strings.Contains(cell, " ± ") {
		return strings.ReplaceAll(strings.ReplaceAll(cell, " ", "\u00a0"), "\u00a0±", " ±")
	}
	return strings.ReplaceAll(cell, " kWh", "\u00a0kWh")
}

func probeRows(h *House) (all []probeRow) {
	d := h.style.display
	for i := range h.Readings {
		r := &h.Readings[i]
		row := probeRow{Name: r.Probe, Where: strings.TrimSpace(r.Role + " " + r.Place), Value: "–", Health: health(r, d), Age: d.Duration(math.Round(r.AgeS))}
		if r.DepthM > 0 {
			row.Where += " " + d.Length(r.DepthM)
		}
		if r.Store != "" {
			row.Where += ", " + r.Store
		}
		if row.Health == "" {
			row.Health = "good"
		}
		if text := r.text(d); text != "" {
			row.Value = text
		}
		all = append(all, row)
	}
	return all
}

// text is a reading with its unit; empty where it has no value.
func (r *Reading) text(d unit.Display) string {
	switch {
	case r.TemperatureC != nil:
		return d.Temperature(unit.Celsius(*r.TemperatureC))
	case r.HumidityRatio != nil:
		return percent(*r.HumidityRatio)
	case r.PowerW != nil:
		return d.Power(*r.PowerW)
	case r.On != nil && *r.On:
		return "on"
	case r.On != nil:
		return "off"
	case r.CO2Ppm != nil:
		return fmt.Sprintf("%.0f ppm", *r.CO2Ppm)
	case r.LightLux != nil:
		return fmt.Sprintf("%.0f lx", *r.LightLux)
	case r.RadonBqM3 != nil:
		return fmt.Sprintf("%.0f Bq/m³", *r.RadonBqM3)
	}
	return ""
}

// day names the time that a page was made.
func day(t time.Time) string { return t.Format("Mon 2 Jan 2006, 15:04:05") }
