package main

import (
	"encoding/json"
	"io"
	"math"

	"loambank/controller/plan/tune"
)

// tuneJSON is what `tune --json` writes. Costs are a year's, or with --data those of PerDays days, in the
// currency, or in kWh where electricity has no price.
type tuneJSON struct {
	Schema    int            `json:"schema"`
	Kind      string         `json:"kind"` // "tune"
	House     string         `json:"house"`
	Station   string         `json:"station,omitempty"`
	Recording *recordingJSON `json:"recording,omitempty"`
	PerDays   int            `json:"per_days,omitempty"` // absent: a year
	Cost      string         `json:"cost_in"`
	Seed      uint64         `json:"seed"`
	Tried     int            `json:"settings_tried"`
	Years     int            `json:"years_seen,omitempty"`
	Unseen    int            `json:"years_unseen,omitempty"`
	RiskCost  float64        `json:"risk_cost_per_hour"`
	Airflow   []airflow      `json:"airflow_learned,omitempty"` // of stores whose fans move what was learned
	Today     pointJSON      `json:"today"`
	Front     []pointJSON    `json:"front"` // by rising cost in what was seen
	Advised   adviceJSON     `json:"advised"`
	Topping   *toppingJSON   `json:"topping_up,omitempty"`

	Weights []weightJSON `json:"sensitivity,omitempty"` // of the gain in the file's own year
}

// recordingJSON is a recording that settings were tried on. The seen and unseen are blocks of ten days.
type recordingJSON struct {
	First   string     `json:"first"`
	Last    string     `json:"last"`
	Rows    int64      `json:"rows"`
	Seen    int        `json:"blocks_seen"`
	Unseen  int        `json:"blocks_unseen"`
	Metered bool       `json:"fans_metered"`
	LossWK  figureJSON `json:"house_loss_watts_per_kelvin"`
	Fit     fitJSON    `json:"fit"`
}

// pointJSON is one choice of settings, by the means of what the search did not see.
type pointJSON struct {
	Cost     float64  `json:"cost"`
	RiskS    float64  `json:"risk_seconds"`
	FanS     float64  `json:"fan_seconds"`
	LowC     float64  `json:"lowest_celsius"`
	SeenCost *float64 `json:"seen_cost,omitempty"` // the mean of what it saw
	Snippet  string   `json:"settings,omitempty"`
}

type adviceJSON struct {
	Gain    float64  `json:"gain"`                  // cost with risk at its price, saved
	Spread  *float64 `json:"uncertainty,omitempty"` // ±, 95 %; absent with one year
	Certain bool     `json:"certain"`               // the gain is more than noise
	Snippet string   `json:"settings"`
}

// toppingJSON is when charging pays, under the advised settings in the file's own year.
type toppingJSON struct {
	From  string     `json:"from,omitempty"` // "MM-DD"; absent where it pays in no week
	Weeks []weekJSON `json:"weeks"`
}

// weekJSON is what charging in a week is worth. What is spared of a kWh put down is heat of the heater, or
// in a house without one crop air under its frost limit.
type weekJSON struct {
	From     string   `json:"from"`
	Spared   *float64 `json:"spared_ratio,omitempty"`
	SparedKh *float64 `json:"spared_kelvin_hours_per_kwh,omitempty"`
	Hours    int      `json:"hours"`                        // in which the margin is met
	PerKWh   float64  `json:"heat_per_electricity"`         // put down in them
	Needs    float64  `json:"spared_per_electricity_least"` // for it to pay
}

func (a *advice) json(w io.Writer) error {
	out := tuneJSON{
		Schema: schema, Kind: "tune", House: a.h.House.Name, Cost: a.costCode(), Seed: a.Seed,
		Tried: len(a.study.Trials), RiskCost: thousandth(a.riskCost),
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
	out.Weights = weightsJSON(a.weighs)
	a.bench.json(&out)
	if a.weeks != nil {
		out.Topping = a.toppingJSON()
	}
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", " ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(&out)
}

func (a *advice) toppingJSON() *toppingJSON {
	out := &toppingJSON{}
	if first, ok := a.from(); ok {
		out.From = a.weeks[first].Begins.String()
	}
	for i := range a.weeks {
		w := &a.weeks[i]
		spared := thousandth(w.Spared)
		week := weekJSON{From: w.Begins.String(), Hours: w.Hours, PerKWh: thousandth(w.PerKWh), Needs: thousandth(w.Needs)}
		if week.Spared = &spared; !a.heated() {
			week.Spared, week.SparedKh = nil, &spared
		}
		out.Weeks = append(out.Weeks, week)
	}
	return out
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
