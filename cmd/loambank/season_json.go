package main

import (
	"encoding/json"
	"io"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/trial"
)

// seasonJSON is what `season --json` writes. Energies are kWh, temperatures °C, money is in the
// currency.
type seasonJSON struct {
	Schema   int        `json:"schema"`
	Kind     string     `json:"kind"` // "season"
	House    string     `json:"house"`
	Station  string     `json:"station"`
	Currency string     `json:"currency,omitempty"`
	Airflow  []airflow  `json:"airflow_learned,omitempty"` // of stores whose fans move what was learned
	Years    []yearJSON `json:"years"`

	Quality *qualityJSON `json:"quality,omitempty"` // where it was asked for
}

// qualityJSON is what rules earned beside the best schedule that knew the weather. Without a heater or
// without prices there is none: then it is empty.
type qualityJSON struct {
	Rules []ruleJSON `json:"rules,omitempty"`                // the best schedule, as it was run, is the last: "plan"
	Model *float64   `json:"reduced_model_earned,omitempty"` // what the reduced model alone says; no bound
	// Beaten are the rules that earned more than the schedule that was found first, which then
	// followed the best of them.
	Beaten []string  `json:"beaten_by,omitempty"`
	Pair   *pairJSON `json:"best_pair,omitempty"`
}

type ruleJSON struct {
	Rule    string   `json:"rule"`              // "thermostats", "best-pair", "settings", "settings-money", "plan"
	Earned  float64  `json:"earned"`            // a year over never running, currency
	Quality *float64 `json:"quality,omitempty"` // share of what the plan earned; absent where that is nothing
}

// pairJSON is the pair of thermostats that earns most.
type pairJSON struct {
	MarginK   float64 `json:"margin_kelvin"`
	GainK     float64 `json:"gain_kelvin"`
	SetpointC float64 `json:"setpoint_celsius"`
}

type yearJSON struct {
	Rule   string      `json:"rule"` // "settings", "never", "thermostats"
	Months []monthJSON `json:"months"`
	Total  monthJSON   `json:"total"`
}

type monthJSON struct {
	Month       int                `json:"month,omitempty"`      // 1 to 12; left out of a total
	StateS      map[string]float64 `json:"state_seconds"`        // summed over stores
	FanKWh      float64            `json:"fan_kwh"`              //
	InKWh       float64            `json:"heat_in_kwh"`          // into the soil by the fans' air
	LatentKWh   float64            `json:"latent_in_kwh"`        // of it, by condensing
	OutKWh      float64            `json:"heat_out_kwh"`         // out of the soil
	LowC        float64            `json:"lowest_celsius"`       // air in the house
	FrostS      float64            `json:"frost_seconds"`        // at or under the frost limit
	FrostKS     float64            `json:"frost_kelvin_seconds"` // how far under it, summed over time
	HeaterKWh   float64            `json:"heater_kwh"`           // useful heat
	Electricity float64            `json:"electricity_cost"`     // of the fans
	Fuel        float64            `json:"fuel_cost"`            // of the heater
}

func (a *seasons) json(w io.Writer) error {
	out := seasonJSON{Schema: schema, Kind: "season", House: a.h.House.Name, Station: a.year.Station, Currency: a.s.Currency, Airflow: a.airflow}
	for _, y := range []struct {
		rule string
		r    *trial.Result
	}{{"settings", a.policy}, {"never", a.never}, {"thermostats", a.pair}} {
		year := yearJSON{Rule: y.rule}
		for i := range y.r.Months {
			m := monthOf(&y.r.Months[i])
			m.Month = int(y.r.Months[i].Month)
			year.Months = append(year.Months, m)
		}
		total := y.r.Total()
		year.Total = monthOf(&total)
		out.Years = append(out.Years, year)
	}
	if a.best != nil {
		out.Quality = a.best.json()
	}
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", " ")
	return encoder.Encode(&out)
}

func (f *foresighted) json() *qualityJSON {
	if f.unpriced {
		return &qualityJSON{}
	}
	model := thousandth(f.model)
	out := &qualityJSON{Model: &model, Beaten: f.beaten, Pair: &pairJSON{
		thousandth(float64(f.pair.Margin)), thousandth(float64(f.pair.Gain)), thousandth(float64(f.pair.Setpoint)),
	}}
	for _, e := range f.rules {
		rule := ruleJSON{Rule: e.code, Earned: thousandth(e.earned)}
		if share, ok := f.quality(&e); ok {
			share = thousandth(share)
			rule.Quality = &share
		}
		out.Rules = append(out.Rules, rule)
	}
	return out
}

func monthOf(m *trial.Month) monthJSON {
	out := monthJSON{
		StateS: map[string]float64{}, FanKWh: thousandth(m.FanKWh), InKWh: thousandth(m.InKWh), LatentKWh: thousandth(m.LatentKWh),
		OutKWh: thousandth(m.OutKWh), LowC: finite(m.Low), FrostS: m.FrostS, FrostKS: thousandth(m.FrostKS),
		HeaterKWh: thousandth(m.HeaterKWh), Electricity: thousandth(m.Electricity), Fuel: thousandth(m.Fuel),
	}
	for a, s := range m.StateS {
		if s > 0 {
			out.StateS[decide.Activity(a).String()] = s
		}
	}
	return out
}

// finite is a temperature for JSON.
func finite(c unit.Celsius) float64 { return thousandth(float64(c)) }
