package controller

import (
	"context"
	"errors"
	"fmt"
	"time"

	"loambank/config"
	"loambank/controller/judge"
	"loambank/drivers"
)

// Devices are given this long for one call, and once more when the program stops.
const callTimeout = 2 * time.Second

var errHung = errors.New("no answer in time")

// probe is one probe of a house with the worker that reads it.
type probe struct {
	stanza drivers.Stanza
	device drivers.Probe // nil while it could not be opened
	worker *worker[context.Context, reading]
	err    error // of the last reading, nil while it answers
	errors int64
}

type reading struct {
	value float64
	err   error
}

// fan is one fan of a house with the worker that switches it.
type fan struct {
	store, index int
	stanza       drivers.Stanza
	device       drivers.Fan // nil while it could not be opened
	worker       *worker[order, error]
	stage        uint8 // what it was last told and took over
	unsure       bool  // the last order failed: its stage is not known
	told         bool  // its fault has been logged
	err          error
}

type order struct {
	ctx   context.Context
	stage drivers.Stage
}

// openProbes opens every probe of a house. One that does not open is down and named; the others
// are not kept from working.
func openProbes(ctx context.Context, h *config.House) []*probe {
	var all []*probe
	for _, stanza := range h.Probes {
		p := &probe{stanza: stanza}
		p.device, p.err = drivers.OpenProbe(ctx, stanza)
		if p.device != nil {
			p.worker = startWorker(func(ctx context.Context) reading {
				v, err := p.device.Read(ctx)
				return reading{v, err}
			}, p.device.Close)
		}
		all = append(all, p)
	}
	return all
}

// openFans opens every fan of a house, which puts it off.
func openFans(ctx context.Context, h *config.House) []*fan {
	var all []*fan
	for i, store := range h.Fans {
		for j, stanza := range store {
			f := &fan{store: i, index: j, stanza: stanza}
			f.device, f.err = drivers.OpenFan(ctx, stanza)
			if f.device != nil {
				f.worker = startWorker(func(o order) error {
					return f.device.Set(o.ctx, o.stage)
				}, f.device.Close)
			}
			all = append(all, f)
		}
	}
	return all
}

// read asks all probes at once and returns what answered in time.
func read(ctx context.Context, probes []*probe, raw []judge.Raw) {
	ctx, cancel := context.WithTimeout(ctx, callTimeout)
	defer cancel()
	asked := make([]bool, len(probes))
	for i, p := range probes {
		asked[i] = p.worker != nil && p.worker.begin(ctx)
	}
	for i, p := range probes {
		raw[i] = judge.Raw{}
		if p.worker == nil {
			p.errors++
			continue
		}
		r := reading{err: errHung}
		if asked[i] {
			if got, ok := p.worker.wait(ctx); ok {
				r = got
			}
		}
		if p.err = r.err; p.err != nil {
			p.errors++
			continue
		}
		raw[i] = judge.Raw{Value: r.value, OK: true}
	}
}

// drive brings every fan to its wanted stage and waits for those that are switched.
func drive(ctx context.Context, fans []*fan, want func(*fan) uint8) {
	ctx, cancel := context.WithTimeout(ctx, callTimeout)
	defer cancel()
	told := make([]bool, len(fans))
	for i, f := range fans {
		if f.worker == nil || f.stage == want(f) && !f.unsure {
			continue
		}
		if told[i] = f.worker.begin(order{ctx, drivers.Stage(want(f))}); !told[i] {
			f.unsure, f.err = true, errHung
		}
	}
	for i, f := range fans {
		if !told[i] {
			continue
		}
		err, ok := f.worker.wait(ctx)
		if !ok {
			err = errHung
		}
		f.err, f.unsure = err, err != nil
		if err == nil {
			f.stage = want(f)
		}
	}
}

// shut closes the devices of a house, fans first: closing puts them off. A device that hangs is
// left behind and named.
func shut(probes []*probe, fans []*fan) error {
	ctx, cancel := context.WithTimeout(context.Background(), callTimeout)
	defer cancel()
	var faults []error
	for _, f := range fans {
		if f.worker != nil {
			f.worker.close()
		}
	}
	for _, p := range probes {
		if p.worker != nil {
			p.worker.close()
		}
	}
	for _, f := range fans {
		if f.worker != nil {
			faults = append(faults, closing(ctx, f.worker.closed, "fan "+f.stanza.Name))
		}
	}
	for _, p := range probes {
		if p.worker != nil {
			faults = append(faults, closing(ctx, p.worker.closed, "probe "+p.stanza.Name))
		}
	}
	return errors.Join(faults...)
}

func closing(ctx context.Context, closed <-chan error, name string) error {
	select {
	case err := <-closed:
		return err
	case <-ctx.Done():
	}
	select {
	case err := <-closed: // while another device used up the time
		return err
	default:
		return fmt.Errorf("%s: %w", name, errHung)
	}
}
