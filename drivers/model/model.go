// Package model is the family of devices that hang on a simulated house: its probes read what the
// house would show, its fans move the simulated air. They touch no hardware, so the clock may run
// faster with them. The house itself is whoever opens the devices to give.
package model

import (
	"context"
	"fmt"
	"sync"
	"time"

	"loambank/drivers/device"
)

// Plant is a simulated house. It is used by one goroutine at a time.
type Plant interface {
	// Advance moves the house on from at by dtS seconds with the fans of each store at these stages.
	Advance(at time.Time, dtS float64, stages [][]device.Stage)
	// Read returns what a probe shows, by its place among the house's probes, and whether the house
	// has that.
	Read(probe int) (float64, bool)
}

// Step is how far a house moves on at once; what probes show is at most that old.
const Step = time.Minute

// House is a simulated house that its devices share. It is safe from any goroutine.
type House struct {
	now func() time.Time

	mu     sync.Mutex
	plant  Plant
	at     time.Time
	stages [][]device.Stage
}

// New returns the devices' side of a plant at the time that now shows. fans is how many each store
// has.
func New(plant Plant, fans []int, now func() time.Time) *House {
	h := &House{plant: plant, now: now, at: now()}
	for _, n := range fans {
		h.stages = append(h.stages, make([]device.Stage, n))
	}
	return h
}

// advance brings the house to the present. The caller holds the lock.
func (h *House) advance() {
	for now := h.now(); !h.at.Add(Step).After(now); h.at = h.at.Add(Step) {
		h.plant.Advance(h.at, Step.Seconds(), h.stages)
	}
}

// Probe reads what one probe of the house shows.
type Probe struct {
	house *House
	index int
	name  string
}

// Probe returns a probe by its place among the house's probes.
func (h *House) Probe(name string, index int) (*Probe, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if _, has := h.plant.Read(index); !has {
		return nil, fmt.Errorf("probe %s: the model house does not show that", name)
	}
	return &Probe{house: h, index: index, name: name}, nil
}

// Read returns what the probe shows: °C, a share, W, or 0 and 1.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	if err := ctx.Err(); err != nil {
		return 0, fmt.Errorf("probe %s: %w", p.name, err)
	}
	h := p.house
	h.mu.Lock()
	defer h.mu.Unlock()
	h.advance()
	v, has := h.plant.Read(p.index)
	if !has {
		return 0, fmt.Errorf("probe %s: %w", p.name, device.ErrAbsent)
	}
	return v, nil
}

// String names the probe.
func (p *Probe) String() string { return p.name + " (model)" }

// Close does nothing.
func (p *Probe) Close() error { return nil }

// Fan moves air through one store.
type Fan struct {
	house        *House
	store, index int
	levels       int
	name         string
}

// Fan returns a fan by its places, off. levels is how many speeds it has, at least one.
func (h *House) Fan(name string, store, index, levels int) (*Fan, error) {
	if store < 0 || store >= len(h.stages) || index < 0 || index >= len(h.stages[store]) {
		return nil, fmt.Errorf("fan %s: the model house has no fan %d in store %d", name, index+1, store+1)
	}
	f := &Fan{house: h, store: store, index: index, levels: max(1, levels), name: name}
	return f, f.Set(context.Background(), 0)
}

// Set runs the fan at a stage from now on.
func (f *Fan) Set(ctx context.Context, stage device.Stage) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("fan %s: %w", f.name, err)
	}
	if int(stage) > f.levels {
		return fmt.Errorf("fan %s has %d stages, not %d", f.name, f.levels, stage)
	}
	h := f.house
	h.mu.Lock()
	defer h.mu.Unlock()
	h.advance()
	h.stages[f.store][f.index] = stage
	return nil
}

// String names the fan.
func (f *Fan) String() string { return f.name + " (model)" }

// Close puts the fan off.
func (f *Fan) Close() error { return f.Set(context.Background(), 0) }
