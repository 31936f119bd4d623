package main

import (
	"encoding/json"
	"io"
	"math"

	"loambank/controller/plan/tune"
)

// tuneJSON is what `tune --json` writes. Costs are a year's, in the currency, or in kWh where
// electricity has no price.
type tuneJSON struct {
	Schema   int         `json:"schema"`
	Kind     string      `json:"kind"` // "tune"
	House    string      `json:"house"`
	Station  string      `json:"station"`
	Cost     string      `json:"cost_in"`
	Seed     uint64      `json:"seed"`
	Tried    int         `json:"settings_tried"`
	Years    int         `json:"years_seen"`
	Unseen   int         `json:"years_unseen"`
	RiskCost float64     `json:"risk_cost_per_hour"`
	Today    pointJSON   `json:"today"`
	Front    []pointJSON `json:"front"` // by rising cost in the years seen
	Advised  adviceJSON  `json:"advised"`
	Topping  []dateJSON  `json:"topping_up,omitempty"`
}

// pointJSON is one choice of settings, by the means of the years that the search did not see.
type pointJSON struct {
	Cost     float64  `json:"cost"`
	RiskS    float64  `json:"risk_seconds"`
	FanS     float64  `json:"fan_seconds"`
	LowC     float64  `json:"lowest_celsius"`
	SeenCost *float64 `json:"seen_cost,omitempty"` // the mean of the years that it saw
	Snippet  string   `json:"settings,omitempty"`
}

type adviceJSON struct {
	Gain    float64  `json:"gain"`                  // cost with risk at its price, saved a year
	Spread  *float64 `json:"uncertainty,omitempty"` // ±, 95 %; absent with one year
	Certain bool     `json:"certain"`               // the gain is more than noise
	Snippet string   `json:"settings"`
}

type dateJSON struct {
	From string  `json:"from"` // "MM-DD"
	Cost float64 `json:"cost"`
}

func (a *advice) json(w io.Writer) error {
	out := tuneJSON{
		Schema: schema, Kind: "tune", House: a.h.House.Name, Station: a.year.Station, Cost: a.costCode(), Seed: a.Seed,
		Tried: len(a.study.Trials), Years: len(a.study.Seeds), Unseen: a.Unseen, RiskCost: thousandth(a.riskCost),
		Today:   a.point(a.todayUnseen, a.seenToday()),
		Advised: adviceJSON{Gain: thousandth(a.gain.Mean), Certain: a.gain.Certain(), Snippet: a.space.Snippet(a.best.Point)},
	}
	if !math.IsInf(a.gain.Spread, 0) {
		spread := thousandth(a.gain.Spread)
		out.Advised.Spread = &spread
	}
	for i, f := range a.front {
		p := a.point(a.frontUnseen[i], f)
		p.Snippet = a.space.Snippet(f.Point)
		out.Front = append(out.Front, p)
	}
	for i := range a.topping {
		out.Topping = append(out.Topping, dateJSON{a.topping[i].date.String(), thousandth(a.total(i))})
	}
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", " ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(&out)
}

func (a *advice) point(unseen, seen *tune.Trial) pointJSON {
	m := unseen.Mean()
	p := pointJSON{
		Cost: thousandth(m.Cost), RiskS: math.Round(m.RiskH * 3600), FanS: math.Round(m.FanH * 3600), LowC: thousandth(m.LowC),
	}
	if seen != nil {
		cost := thousandth(seen.Mean().Cost)
		p.SeenCost = &cost
	}
	return p
}

func (a *advice) costCode() string {
	if a.h.House.Decide.Tariff.HasElectricity {
		return a.s.Currency
	}
	return "kWh"
}

// thousandth rounds a figure to what is worth telling.
func thousandth(v float64) float64 { return math.Round(v*1000) / 1000 }
