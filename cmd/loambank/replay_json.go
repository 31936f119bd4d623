package main

import (
	"encoding/json"
	"io"
	"math"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

// schema is the version of every JSON the commands write.
const schema = 1

// changeJSON is one line of `replay --json`: a store's new decision. Temperatures are °C,
// a temperature that is not known is left out.
type changeJSON struct {
	Schema   int             `json:"schema"`
	Kind     string          `json:"kind"` // "change"
	Time     time.Time       `json:"time"`
	House    string          `json:"house"`
	Store    string          `json:"store"`
	State    decide.Activity `json:"state"`
	Stages   []int           `json:"stages"` // of each fan, 0 is off
	Reason   decide.Code     `json:"reason"`
	Have     float64         `json:"have"` // the number compared; see the reason's documentation
	Need     float64         `json:"need"`
	Waiting  decide.Code     `json:"waiting"`
	AirC     *float64        `json:"air_celsius,omitempty"`
	SoilC    *float64        `json:"soil_celsius,omitempty"`
	HeatW    float64         `json:"heat_watts"` // into the soil, estimate
	LatentW  float64         `json:"latent_watts"`
	PowerW   float64         `json:"power_watts"`
	Estimate bool            `json:"heat_is_estimate"`
}

// summaryJSON is the last line of `replay --json`.
type summaryJSON struct {
	Schema       int         `json:"schema"`
	Kind         string      `json:"kind"` // "summary"
	First        time.Time   `json:"first"`
	Last         time.Time   `json:"last"`
	Rows         int64       `json:"rows"`
	MissingCells int64       `json:"missing_cells"`
	SilentTicks  int64       `json:"silent_ticks"`
	Houses       []houseJSON `json:"houses"`
}

type houseJSON struct {
	House            string      `json:"house"`
	LowestC          *float64    `json:"lowest_crop_air_celsius,omitempty"`
	LowestAt         *time.Time  `json:"lowest_crop_air_time,omitempty"`
	FrostS           float64     `json:"at_frost_limit_seconds"`
	BlindS           float64     `json:"without_air_seconds"`
	Currency         string      `json:"currency,omitempty"`
	ElectricityMoney float64     `json:"electricity_money"`
	FuelMoney        float64     `json:"fuel_avoided_money"`
	Stores           []storeJSON `json:"stores"`
}

type storeJSON struct {
	Store            string             `json:"store"`
	StateS           map[string]float64 `json:"state_seconds"`
	HeatInKWh        float64            `json:"heat_in_kwh"`
	LatentInKWh      float64            `json:"latent_in_kwh"`
	HeatOutKWh       float64            `json:"heat_out_kwh"`
	CondensateLitres float64            `json:"condensate_litres"`
	HeatIsEstimate   bool               `json:"heat_is_estimate"`
	Fans             []fanJSON          `json:"fans"`
}

type fanJSON struct {
	Fan       string  `json:"fan"`
	RunS      float64 `json:"run_seconds"`
	Starts    int64   `json:"starts"`
	EnergyKWh float64 `json:"energy_kwh"`
}

// jsonPrinter writes JSON lines.
type jsonPrinter struct {
	s   *config.Settings
	enc *json.Encoder
	err error
}

func newJSONPrinter(w io.Writer, s *config.Settings) *jsonPrinter {
	return &jsonPrinter{s: s, enc: json.NewEncoder(w)}
}

func (p *jsonPrinter) write(v any) {
	if p.err == nil {
		p.err = p.enc.Encode(v)
	}
}

func (p *jsonPrinter) change(c replay.Change) {
	h, d := &p.s.Houses[c.House].House, c.Decision()
	store := &h.Decide.Stores[c.Store]
	line := changeJSON{
		Schema: schema, Kind: "change", Time: c.Time, House: h.Name, Store: store.Name,
		State: d.State, Reason: d.Reason.Code,
		Have: rounded(d.Reason.Have), Need: rounded(d.Reason.Need), Waiting: d.Waiting.Code,
		HeatW: rounded(d.HeatW), LatentW: rounded(d.LatentW), PowerW: rounded(d.PowerW), Estimate: true,
	}
	for _, stage := range d.Stages[:len(store.Fans)] {
		line.Stages = append(line.Stages, int(stage))
	}
	if d.Reason.HasAir {
		line.AirC = new(rounded(float64(d.Reason.Air)))
	}
	if d.Reason.HasSoil {
		line.SoilC = new(rounded(float64(d.Reason.Soil)))
	}
	p.write(line)
}

func (p *jsonPrinter) summary(sum *replay.Summary, stats recording.Stats) error {
	out := summaryJSON{
		Schema: schema, Kind: "summary", First: sum.First, Last: sum.Last, Rows: sum.Rows,
		MissingCells: stats.Missing, SilentTicks: sum.SilentTicks,
	}
	for i := range sum.Houses {
		out.Houses = append(out.Houses, p.house(&sum.Houses[i]))
	}
	p.write(out)
	return p.err
}

func (p *jsonPrinter) house(sum *replay.House) houseJSON {
	a := sum.Account
	h := houseJSON{
		House: a.Name, FrostS: sum.FrostS, BlindS: sum.BlindS, Currency: p.s.Currency,
		ElectricityMoney: rounded(a.ElectricityMoney), FuelMoney: rounded(a.FuelMoney),
	}
	if sum.Low.Known {
		h.LowestC, h.LowestAt = new(rounded(float64(sum.Low.C))), &sum.Low.Time
	}
	for _, store := range a.Stores {
		out := storeJSON{
			Store: store.Name, StateS: map[string]float64{}, HeatInKWh: rounded(store.In.KWh()),
			LatentInKWh: rounded(store.In.LatentKWh), HeatOutKWh: rounded(store.Out.KWh()),
			CondensateLitres: rounded(store.CondensateLitres), HeatIsEstimate: true,
		}
		for k, s := range store.StateS {
			if s > 0 {
				out.StateS[decide.Activity(k).String()] = s
			}
		}
		for j := range store.Fans {
			f := &store.Fans[j]
			out.Fans = append(out.Fans, fanJSON{f.Name, f.RunTotalS(), f.Starts, rounded(f.EnergyKWh)})
		}
		h.Stores = append(h.Stores, out)
	}
	return h
}

// rounded drops the digits in which processors differ.
func rounded(v float64) float64 {
	const steps = 1e6
	if r := math.Round(v*steps) / steps; r != 0 {
		return r
	}
	return 0 // and not its negative
}
