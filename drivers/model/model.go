// Package model is the family of devices that hang on a simulated house: its probes read what
// package sim reckons, its fans move the simulated air. They touch no hardware, so the clock may
// run faster with them.
package model

import (
	"context"
	"fmt"
	"sync"
	"time"

	"loambank/config/unit"
	"loambank/controller/sim"
	"loambank/drivers/device"
)

// House is a simulated house that its devices share. It is safe from any goroutine.
type House struct {
	params  sim.Params
	weather func(time.Time) sim.Weather
	now     func() time.Time

	mu    sync.Mutex
	state sim.State
	at    time.Time
	flows [][]float64 // m³/s of each fan of each store
}

// New returns a house in a state, which it keeps, at the time that now shows.
func New(params sim.Params, state sim.State, weather func(time.Time) sim.Weather, now func() time.Time) *House {
	return &House{
		params: params, weather: weather, now: now, state: state, at: now(),
		flows: make([][]float64, len(params.Stores)),
	}
}

// advance brings the house to the present. The caller holds the lock.
func (h *House) advance() sim.Weather {
	now := h.now()
	total := make([]float64, len(h.flows))
	for i, fans := range h.flows {
		for _, flow := range fans {
			total[i] += flow
		}
	}
	const longest = 5 * time.Minute // the weather is asked this often
	for h.at.Before(now) {
		next := h.at.Add(min(longest, now.Sub(h.at)))
		h.state = sim.Advance(&h.params, h.state, h.weather(h.at), total, next.Sub(h.at).Seconds())
		h.at = next
	}
	return h.weather(h.at)
}

// Quantity is what a model probe reads.
type Quantity uint8

// The quantities of a simulated house. Soil belongs to a store.
const (
	Air Quantity = iota
	Humidity
	Outside
	HeaterOn
	Soil
)

// Probe reads one quantity.
type Probe struct {
	house    *House
	quantity Quantity
	store    int
	name     string
}

// Probe returns a probe; store is the index of the store whose soil it reads.
func (h *House) Probe(name string, q Quantity, store int) (*Probe, error) {
	if q == Soil && (store < 0 || store >= len(h.params.Stores)) {
		return nil, fmt.Errorf("probe %s: the model house has no store %d", name, store+1)
	}
	return &Probe{house: h, quantity: q, store: store, name: name}, nil
}

// Read returns the quantity now: °C, a share, or 0 and 1.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	if err := ctx.Err(); err != nil {
		return 0, fmt.Errorf("probe %s: %w", p.name, err)
	}
	h := p.house
	h.mu.Lock()
	defer h.mu.Unlock()
	weather := h.advance()
	switch p.quantity {
	case Humidity:
		return h.state.Humidity(h.params.PressurePa), nil
	case Outside:
		return float64(weather.Outside), nil
	case HeaterOn:
		if h.state.Heating {
			return 1, nil
		}
		return 0, nil
	case Soil:
		return float64(h.state.Soil[p.store]), nil
	default:
		return float64(h.state.Air), nil
	}
}

// String names the probe.
func (p *Probe) String() string { return p.name + " (model)" }

// Close does nothing.
func (p *Probe) Close() error { return nil }

// Fan moves air through one store.
type Fan struct {
	house  *House
	store  int
	index  int
	flow   float64
	levels []float64
	name   string
}

// Fan returns a fan of a store, off. flowM3s is its flow at full speed, levels its speeds.
func (h *House) Fan(name string, store int, flowM3s float64, levels []float64) (*Fan, error) {
	if store < 0 || store >= len(h.params.Stores) {
		return nil, fmt.Errorf("fan %s: the model house has no store %d", name, store+1)
	}
	if len(levels) == 0 {
		levels = []float64{1}
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.flows[store] = append(h.flows[store], 0)
	return &Fan{
		house: h, store: store, index: len(h.flows[store]) - 1, flow: flowM3s, levels: levels, name: name,
	}, nil
}

// Set runs the fan at a stage from now on.
func (f *Fan) Set(ctx context.Context, stage device.Stage) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("fan %s: %w", f.name, err)
	}
	if int(stage) > len(f.levels) {
		return fmt.Errorf("fan %s has %d stages, not %d", f.name, len(f.levels), stage)
	}
	h := f.house
	h.mu.Lock()
	defer h.mu.Unlock()
	h.advance()
	h.flows[f.store][f.index] = 0
	if stage > 0 {
		h.flows[f.store][f.index] = f.flow * f.levels[stage-1]
	}
	return nil
}

// String names the fan.
func (f *Fan) String() string { return f.name + " (model)" }

// Close puts the fan off.
func (f *Fan) Close() error { return f.Set(context.Background(), 0) }

// Seen is what the house is like now, for whoever wants to show it.
type Seen struct {
	Air     unit.Celsius
	Outside unit.Celsius
	SunWm2  float64
	HeaterJ float64 // burnt since the beginning, as heat
}

// Look returns what the house is like now.
func (h *House) Look() Seen {
	h.mu.Lock()
	defer h.mu.Unlock()
	w := h.advance()
	return Seen{Air: h.state.Air, Outside: w.Outside, SunWm2: w.SunWm2, HeaterJ: h.state.HeaterJ}
}
