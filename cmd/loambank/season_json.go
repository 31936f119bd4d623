package main

import (
	"encoding/json"
	"io"

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
	Years    []yearJSON `json:"years"`
}

type yearJSON struct {
	Rule   string      `json:"rule"` // "settings", "never", "thermostats"
	Months []monthJSON `json:"months"`
	Total  monthJSON   `json:"total"`
}

type monthJSON struct {
	Month       int                `json:"month,omitempty"`  // 1 to 12; left out of a total
	StateS      map[string]float64 `json:"state_seconds"`    // summed over stores
	FanKWh      float64            `json:"fan_kwh"`          //
	InKWh       float64            `json:"heat_in_kwh"`      // into the soil by the fans' air
	LatentKWh   float64            `json:"latent_in_kwh"`    // of it, by condensing
	OutKWh      float64            `json:"heat_out_kwh"`     // out of the soil
	LowC        float64            `json:"lowest_celsius"`   // air in the house
	FrostS      float64            `json:"frost_seconds"`    // at or under the frost limit
	HeaterKWh   float64            `json:"heater_kwh"`       // useful heat
	Electricity float64            `json:"electricity_cost"` // of the fans
	Fuel        float64            `json:"fuel_cost"`        // of the heater
}

func (a *seasons) json(w io.Writer) error {
	out := seasonJSON{Schema: schema, Kind: "season", House: a.h.House.Name, Station: a.weather.Station, Currency: a.s.Currency}
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
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", " ")
	return encoder.Encode(&out)
}

func monthOf(m *trial.Month) monthJSON {
	out := monthJSON{
		StateS: map[string]float64{}, FanKWh: m.FanKWh, InKWh: m.InKWh, LatentKWh: m.LatentKWh, OutKWh: m.OutKWh,
		LowC: finite(m.Low), FrostS: m.FrostS, HeaterKWh: m.HeaterKWh, Electricity: m.Electricity, Fuel: m.Fuel,
	}
	for a, s := range m.StateS {
		if s > 0 {
			out.StateS[decide.Activity(a).String()] = s
		}
	}
	return out
}
