package main

import (
	"encoding/json"
	"io"
	"math"

	"loambank/controller/plan/size"
)

// sizeJSON is what `size --json` writes. Money is in the currency, US dollars where none is stated.
type sizeJSON struct {
	Schema   int          `json:"schema"`
	Kind     string       `json:"kind"` // "size"
	House    string       `json:"house"`
	Station  string       `json:"station"`
	Currency string       `json:"currency,omitempty"`
	Build    bool         `json:"build"`
	Answer   string       `json:"answer"`
	Store    int          `json:"store,omitempty"` // from 1, the design meant by the answer; 0 is none
	Bare     int          `json:"bare,omitempty"`
	Knee     int          `json:"knee,omitempty"`
	Saves    *savesJSON   `json:"saves,omitempty"` // of the store over the bare house
	Designs  []designJSON `json:"designs"`
	Solar    *solarJSON   `json:"solar,omitempty"`
	Weights  []weightJSON `json:"sensitivity,omitempty"`
}

type savesJSON struct {
	PerYear float64 `json:"per_year"`
	Off     float64 `json:"uncertainty_per_year"`
}

// designJSON is a rung of the ladder. Without a store what speaks of pipes and fan is left out.
type designJSON struct {
	Name      string         `json:"name"`
	Beside    bool           `json:"for_comparison,omitempty"`
	Cover     string         `json:"cover"`
	Screen    bool           `json:"screen"`
	Stone     bool           `json:"stone,omitempty"`
	Cost      float64        `json:"cost"`
	Pipes     *pipesJSON     `json:"pipes,omitempty"`
	Year      *sizeYearJSON  `json:"year,omitempty"` // left out of designs that are not possible
	Error     string         `json:"error,omitempty"`
	Obstacles []obstacleJSON `json:"obstacles,omitempty"`
}

type pipesJSON struct {
	Count        int     `json:"count"`
	LengthM      float64 `json:"length_metres"`
	DiameterM    float64 `json:"diameter_metres"`
	SpacingM     float64 `json:"spacing_metres"`
	DepthM       float64 `json:"depth_metres"`
	FlowM3s      float64 `json:"flow_m3_per_second"`
	SpeedMs      float64 `json:"speed_metres_per_second"`
	LossPa       float64 `json:"pressure_loss_pascal"`
	FanW         float64 `json:"fan_watts"`
	AirChangesH  float64 `json:"air_changes_per_hour"`
	Noise        string  `json:"noise"`
	CondensateLD float64 `json:"condensate_litres_per_day"`
}

type sizeYearJSON struct {
	LowC      float64  `json:"lowest_celsius"`
	FrostS    float64  `json:"frost_seconds"`
	SafeDays  int      `json:"safe_days"`
	HeaterKWh float64  `json:"heater_kwh"`
	FanKWh    float64  `json:"fan_kwh"`
	InKWh     float64  `json:"heat_in_kwh"`
	OutKWh    float64  `json:"heat_out_kwh"`
	Saves     *float64 `json:"saves_per_year,omitempty"` // against the first design
	Value     *float64 `json:"present_value,omitempty"`
}

type obstacleJSON struct {
	What    string     `json:"what"`
	Forbids bool       `json:"forbids"`
	Nearest *pipesJSON `json:"nearest,omitempty"`
}

type solarJSON struct {
	FanKWh     [12]float64 `json:"fan_kwh_by_month"` // January first
	YieldKWh   [12]float64 `json:"yield_kwh_per_kw_by_month"`
	NetKW      float64     `json:"zero_bill_array_kw"`
	Own        float64     `json:"used_at_once_ratio"`
	IslandKW   float64     `json:"off_grid_array_kw,omitempty"`
	BatteryKWh float64     `json:"off_grid_battery_kwh,omitempty"`
	Lost       float64     `json:"off_grid_unmet_ratio,omitempty"`
	Cost       float64     `json:"off_grid_cost,omitempty"`
}

func (a *sizing) json(w io.Writer) error {
	out := sizeJSON{
		Schema: schema, Kind: "size", House: a.h.House.Name, Station: a.year.Station, Currency: a.s.Currency,
		Build: a.choice.Build, Answer: a.answer(), Store: a.choice.Store + 1, Bare: a.choice.Bare + 1, Knee: a.choice.Knee + 1,
	}
	for i := range a.rungs {
		out.Designs = append(out.Designs, a.design(&a.rungs[i]))
	}
	if a.choice.Store >= 0 && a.choice.Priced {
		out.Saves = &savesJSON{cents(a.spread.mean), cents(a.spread.off)}
	}
	if s := a.solar; s != nil {
		out.Solar = &solarJSON{
			FanKWh: s.fans, YieldKWh: s.yield, NetKW: cents(s.netMetered.ArrayKW), Own: cents(s.netMetered.Own),
			IslandKW: cents(s.offGrid.ArrayKW), BatteryKWh: cents(s.offGrid.BatteryKWh), Lost: s.offGrid.Lost, Cost: cents(s.offGrid.Cost),
		}
		for m := range out.Solar.FanKWh {
			out.Solar.FanKWh[m], out.Solar.YieldKWh[m] = cents(s.fans[m]), cents(s.yield[m])
		}
	}
	out.Weights = weightsJSON(a.weighs)
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", " ")
	return encoder.Encode(&out)
}

func (a *sizing) design(r *size.Rung) designJSON {
	d := designJSON{Name: r.Name, Beside: r.Beside, Cover: r.Cover.String(), Screen: r.Screen, Stone: r.Stone, Cost: cents(r.Costs)}
	if r.Err != nil {
		d.Error = r.Err.Error()
	}
	if r.Store() {
		d.Pipes = laid(&r.Design)
		d.Pipes.CondensateLD = cents(r.Outcome.CondensateLDay)
	}
	for _, o := range r.Obstacles {
		one := obstacleJSON{What: o.What, Forbids: o.Forbids}
		if o.Nearest.Count > 0 {
			one.Nearest = laid(&size.Design{Pipes: o.Nearest})
		}
		d.Obstacles = append(d.Obstacles, one)
	}
	if r.Lived {
		o := &r.Outcome
		d.Year = &sizeYearJSON{
			LowC: finite(o.Low), FrostS: math.Round(o.FrostH * 3600), SafeDays: o.SafeDays, HeaterKWh: cents(o.HeaterKWh),
			FanKWh: cents(o.FanKWh), InKWh: cents(o.InKWh), OutKWh: cents(o.OutKWh),
		}
		if a.choice.Priced {
			saves, value := cents(r.Saves), cents(r.Value)
			d.Year.Saves, d.Year.Value = &saves, &value
		}
	}
	return d
}

func laid(d *size.Design) *pipesJSON {
	p, f := d.Pipes, d.Duct
	return &pipesJSON{
		Count: p.Count, LengthM: cents(p.LengthM), DiameterM: cents(p.DiameterM), SpacingM: cents(p.SpacingM), DepthM: cents(p.DepthM),
		FlowM3s: math.Round(f.FlowM3s*1e4) / 1e4, SpeedMs: cents(f.SpeedMs), LossPa: cents(f.LossPa), FanW: cents(f.PowerW),
		AirChangesH: cents(f.AirChangesPerHour), Noise: f.Noise(),
	}
}

// cents rounds to hundredths, so that a figure reads the same on every processor.
func cents(v float64) float64 { return math.Round(v*100) / 100 }
