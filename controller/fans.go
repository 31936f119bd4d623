package controller

import (
	"context"
	"time"

	"loambank/config"
	"loambank/drivers"
)

const (
	// orderWait is how long a tick waits for fans to take their orders.
	orderWait = 300 * time.Millisecond
	// orderTimeout is after how long a fan that has not taken its order counts as down.
	orderTimeout = 5 * time.Second
)

// fan is one fan of a house with the worker that opens and switches it.
type fan struct {
	store, index int
	stanza       drivers.Stanza
	device       drivers.Fan // of its worker; nil until it could be opened
	worker       *worker[order, error]

	sure  bool  // its stage is known: it took its last order over
	stage uint8 // while sure
	asked uint8 // the stage of the order that is out or was last answered
	since time.Time
	told  bool  // its fault has been logged
	err   error // of the last order; nil while it obeys, or may still
}

type order struct {
	ctx   context.Context
	stage drivers.Stage
	open  bool // only open it, which puts it off
}

func newFan(stanza drivers.Stanza) *fan {
	f := &fan{stanza: stanza}
	f.worker = startWorker(f.call, f.shut)
	return f
}

// shut runs in the fan's worker, after its last call.
func (f *fan) shut() (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = mistake("fan", f.stanza.Name, fault)
		}
	}()
	if f.device == nil {
		return nil
	}
	return f.device.Close()
}

// call runs in the fan's worker.
func (f *fan) call(o order) (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = mistake("fan", f.stanza.Name, fault)
		}
	}()
	ctx, cancel := context.WithTimeout(o.ctx, deviceTimeout)
	defer cancel()
	if f.device == nil {
		device, err := drivers.OpenFan(ctx, f.stanza)
		if err != nil {
			return err
		}
		f.device = device
		if o.stage == 0 {
			return nil // opening has put it off
		}
	}
	if o.open {
		return nil
	}
	return f.device.Set(ctx, o.stage)
}

// heard takes the answer to the order that was out.
func (f *fan) heard(err error) {
	f.err, f.sure = err, err == nil
	if f.sure {
		f.stage = f.asked
	}
}

// settle takes answers that have come since the fans were last driven.
func settle(fans []*fan) {
	for _, f := range fans {
		if err, ok := f.worker.late(); ok {
			f.heard(err)
		}
		if f.worker.busy && time.Since(f.since) >= orderTimeout {
			f.err = errHung
		}
	}
}

// drive brings every fan to its wanted stage, and waits a moment for those that are switched.
func drive(ctx context.Context, fans []*fan, want func(*fan) uint8) {
	settle(fans)
	waiting, cancel := context.WithTimeout(ctx, orderWait)
	defer cancel()
	told := make([]bool, len(fans))
	for i, f := range fans {
		if f.sure && f.stage == want(f) {
			continue
		}
		if told[i] = f.worker.begin(order{ctx: ctx, stage: drivers.Stage(want(f))}); told[i] {
			f.asked, f.sure, f.since = want(f), false, time.Now()
		}
	}
	for i, f := range fans {
		if !told[i] {
			continue
		}
		if err, ok := f.worker.wait(waiting); ok {
			f.heard(err)
		}
	}
}

func off(*fan) uint8 { return 0 }

// devices is what a house is wired to, in the order of its settings.
type devices struct {
	probes []*probe
	fans   []*fan
}

// carried is devices taken over from before, in the order of new settings; nil where none fits.
type carried struct {
	probes []*probe
	fans   [][]*fan
}

// carry takes those devices out of before whose stanza is the same in h, open and untouched.
func carry(h *config.House, before *devices) *carried {
	c := &carried{}
	for _, stanza := range h.Probes {
		c.probes = append(c.probes, before.takeProbe(stanza))
	}
	for _, store := range h.Fans {
		var fans []*fan
		for _, stanza := range store {
			fans = append(fans, before.takeFan(stanza))
		}
		c.fans = append(c.fans, fans)
	}
	return c
}

// wire begins to open the devices of a house that are not carried over.
func wire(ctx context.Context, h *config.House, c *carried) *devices {
	d := &devices{}
	for i, stanza := range h.Probes {
		p := c.probes[i]
		if p == nil {
			p = newProbe(stanza)
			p.worker.begin(call{ctx: ctx, open: true})
		}
		d.probes = append(d.probes, p)
	}
	for i, store := range h.Fans {
		for j, stanza := range store {
			f := c.fans[i][j]
			if f == nil {
				f = newFan(stanza)
				f.worker.begin(order{ctx: ctx, open: true})
				f.since = time.Now()
			}
			f.store, f.index = i, j
			d.fans = append(d.fans, f)
		}
	}
	return d
}

// opened waits until devices that open have done so, or ctx is done.
func (d *devices) opened(ctx context.Context) {
	for _, p := range d.probes {
		if !p.worker.busy {
			continue
		}
		if r, ok := p.worker.wait(ctx); ok {
			p.err = r.err
		}
	}
	for _, f := range d.fans {
		if !f.worker.busy {
			continue
		}
		if err, ok := f.worker.wait(ctx); ok {
			f.heard(err)
		}
	}
}
