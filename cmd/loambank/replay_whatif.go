package main

import (
	"encoding/json"
	"fmt"
	"io"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/ledger"
	"loambank/controller/plan/whatif"
	"loambank/controller/replay"
)

// whatIf compares two settings on a recording.
func (c *replayCommand) whatIf(w *world, s *config.Settings, rows replay.Rows, o replay.Options) error {
	other, err := load(w, c.Against)
	if err != nil {
		return err
	}
	kept, err := replay.Keep(rows)
	if err != nil {
		return err
	}
	found, err := whatif.Compare(s, other, kept, whatif.Options{From: o.From, Until: o.Until, Rested: c.Rested})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeComparisonJSON(w.stdout, s, found)
	}
	return writeComparison(w.stdout, s, found)
}

func writeComparisonJSON(w io.Writer, s *config.Settings, c *whatif.Comparison) error {
	return json.NewEncoder(w).Encode(comparisonOf(s, c))
}

// comparisonJSON is what `replay --against --json` writes: one object. Of two, the first is --config,
// the second --against; what is not known is left out. A spread is two standard errors.
type comparisonJSON struct {
	Schema int                `json:"schema"`
	Kind   string             `json:"kind"` // "comparison"
	First  string             `json:"first"`
	Last   string             `json:"last"`
	Rows   int64              `json:"rows"`
	Houses []houseCompareJSON `json:"houses"`
}

type houseCompareJSON struct {
	House      string           `json:"house"`
	AsRecorded [2]houseJSON     `json:"as_recorded"`
	Lacks      string           `json:"not_corrected_because,omitempty"`
	Metered    bool             `json:"fans_metered"`
	Corrected  *[2]houseJSON    `json:"corrected,omitempty"`
	In         *[2]float64      `json:"corrected_heat_in_kwh,omitempty"`
	Out        *[2]float64      `json:"corrected_heat_out_kwh,omitempty"`
	More       *differencesJSON `json:"against_less_config,omitempty"`
	FollowedH  float64          `json:"followed_hours"`
	LostH      float64          `json:"lost_hours"`
	LossWK     figureJSON       `json:"house_loss_watts_per_kelvin"`
	Fit        fitJSON          `json:"fit"`
}

type figureJSON struct {
	Value  float64 `json:"value"`
	Spread float64 `json:"spread"`
}

type differencesJSON struct {
	RunH    figureJSON  `json:"fan_hours"`
	Fan     figureJSON  `json:"fan_kwh"`
	In      figureJSON  `json:"heat_in_kwh"`
	Out     figureJSON  `json:"heat_out_kwh"`
	Heater  *figureJSON `json:"heater_kwh,omitempty"`
	LowestK figureJSON  `json:"lowest_crop_air_kelvin"`
	FrostH  figureJSON  `json:"at_frost_limit_hours"`
	Money   *figureJSON `json:"money,omitempty"`
}

func figureOf(f whatif.Figure) figureJSON { return figureJSON{rounded(f.Value), rounded(f.Spread)} }

func comparisonOf(s *config.Settings, c *whatif.Comparison) *comparisonJSON {
	const form = "2006-01-02T15:04:05Z07:00"
	out := &comparisonJSON{
		Schema: schema, Kind: "comparison", Rows: c.Rows,
		First: c.First.In(s.Site.Zone).Format(form), Last: c.Last.In(s.Site.Zone).Format(form),
	}
	p := &jsonPrinter{s: s}
	for i := range c.Houses {
		h := &c.Houses[i]
		j := houseCompareJSON{
			House: h.Name, Lacks: h.Lacks, Metered: h.Metered, FollowedH: rounded(h.FollowedH), LostH: rounded(h.LostH),
			AsRecorded: [2]houseJSON{p.house(&h.Open[0]), p.house(&h.Open[1])},
			LossWK:     figureJSON{rounded(h.Learned.LossWK.Value), rounded(2 * h.Learned.LossWK.SE)},
			Fit:        fitOf(&s.Houses[i], &h.Fit),
		}
		if h.Lacks == "" {
			j.Corrected = &[2]houseJSON{p.house(&h.Closed[0]), p.house(&h.Closed[1])}
			j.In = &[2]float64{rounded(h.HeatInKWh[0]), rounded(h.HeatInKWh[1])}
			j.Out = &[2]float64{rounded(h.HeatOutKWh[0]), rounded(h.HeatOutKWh[1])}
			m := &h.More
			j.More = &differencesJSON{
				RunH: figureOf(m.RunH), Fan: figureOf(m.FanKWh), In: figureOf(m.InKWh), Out: figureOf(m.OutKWh),
				LowestK: figureOf(m.LowK), FrostH: figureOf(m.FrostH),
			}
			if s.Houses[i].House.Decide.Heater.Present {
				j.More.Heater = new(figureOf(m.HeaterKWh))
			}
			if s.Currency != "" {
				j.More.Money = new(figureOf(m.Money))
			}
		}
		out.Houses = append(out.Houses, j)
	}
	return out
}

// comparing writes a comparison for people.
type comparing struct {
	textPrinter
}

func writeComparison(w io.Writer, s *config.Settings, c *whatif.Comparison) error {
	p := &comparing{textPrinter{w: w, s: s}}
	if c.Rows == 0 {
		p.printf("No row of the recording lies in the time asked for.\n")
		return p.err
	}
	zone := s.Site.Zone
	p.printf("%s to %s, %d rows\n", c.First.In(zone).Format("2006-01-02 15:04"), c.Last.In(zone).Format("2006-01-02 15:04"), c.Rows)
	for i := range c.Houses {
		p.house(i, &c.Houses[i])
	}
	return p.err
}

func (p *comparing) house(i int, h *whatif.House) {
	p.printf("\nHouse %s\n", h.Name)
	p.sides(i, h)
	p.say(fitText(p.s, &p.s.Houses[i], &h.Fit))
}

func (p *comparing) sides(i int, h *whatif.House) {
	var in, out [2]float64
	for k := range h.Open {
		for j := range h.Open[k].Account.Stores {
			in[k] += h.Open[k].Account.Stores[j].In.KWh()
			out[k] += h.Open[k].Account.Stores[j].Out.KWh()
		}
	}
	p.table("as recorded", &h.Open, in, out)
	if h.Lacks != "" {
		p.say("Readings are as recorded under both settings, though other fans would have changed them: " + h.Lacks + ".")
		return
	}
	p.table("corrected", &h.Closed, h.HeatInKWh, h.HeatOutKWh)
	p.printf("  --against less --config, corrected\n")
	m := &h.More
	p.more("fans on", m.RunH, "h", 0)
	p.more("fans", m.FanKWh, "kWh", 0)
	p.more("heat in", m.InKWh, "kWh", 0)
	p.more("heat out", m.OutKWh, "kWh", 0)
	if p.s.Houses[i].House.Decide.Heater.Present {
		p.more("heater", m.HeaterKWh, "kWh", 0)
	}
	p.degrees("lowest crop air", m.LowK)
	p.more("at frost limit", m.FrostH, "h", 1)
	if p.s.Currency != "" {
		p.more("to pay", m.Money, p.s.Currency, 2)
	}
	from := "the fans are taken to have run as --config decides"
	if h.Metered {
		from = "what the fans did is what they drew"
	}
	p.say(fmt.Sprintf("The house would have read otherwise under other fans: readings are corrected by what %.0f h of the "+
		"recording taught of it (loss %.0f ± %.0f W/K), and %s.", h.FollowedH, h.Learned.LossWK.Value, 2*h.Learned.LossWK.SE, from))
}

// say writes a sentence under a house.
func (p *comparing) say(text string) {
	const indent = 2
	p.printf("  %s\n", wrap(text, plainWidth-indent, indent))
}

// degrees is a difference of temperatures, as its reader counts them.
func (p *comparing) degrees(name string, f whatif.Figure) {
	degree := "K"
	if p.s.Display == unit.US {
		f = whatif.Figure{Value: unit.Kelvin(f.Value).Fahrenheit(), Spread: unit.Kelvin(f.Spread).Fahrenheit()}
		degree = "°F"
	}
	p.more(name, f, degree, 1)
}

func (p *comparing) more(name string, f whatif.Figure, of string, digits int) {
	p.printf("    %-16s %s ± %.*f %s\n", name, unit.Change(f.Value, digits), digits, f.Spread, of)
}

// table sets two replays side by side.
func (p *comparing) table(title string, two *[2]replay.House, in, out [2]float64) {
	p.printf("  %-18s %14s %14s\n", title, "--config", "--against")
	row := func(name string, of func(*replay.House) string) {
		p.printf("    %-16s %14s %14s\n", name, of(&two[0]), of(&two[1]))
	}
	row("lowest crop air", func(h *replay.House) string {
		if !h.Low.Known {
			return "not read"
		}
		return p.s.Display.Temperature(h.Low.C)
	})
	row("at frost limit", func(h *replay.House) string { return hours(h.FrostS) })
	for k := range two[0].Account.StateS {
		if two[0].Account.StateS[k] == 0 && two[1].Account.StateS[k] == 0 {
			continue
		}
		row(decide.Activity(k).String(), func(h *replay.House) string { return hours(h.Account.StateS[k]) })
	}
	stores := func(of func(*ledger.Store) float64, format string) func(*replay.House) string {
		return func(h *replay.House) string {
			sum := 0.0
			for i := range h.Account.Stores {
				sum += of(&h.Account.Stores[i])
			}
			return fmt.Sprintf(format, sum)
		}
	}
	row("starts", stores(func(b *ledger.Store) (n float64) {
		for j := range b.Fans {
			n += float64(b.Fans[j].Starts)
		}
		return n
	}, "%.0f"))
	row("fans", stores(func(b *ledger.Store) (kWh float64) {
		for j := range b.Fans {
			kWh += b.Fans[j].EnergyKWh
		}
		return kWh
	}, "%.1f kWh"))
	p.printf("    %-16s %14.0f %14.0f kWh\n", "heat in", in[0], in[1])
	p.printf("    %-16s %14.0f %14.0f kWh\n", "heat out", out[0], out[1])
}
