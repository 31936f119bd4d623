package controller

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"loambank/controller/judge"
	"loambank/drivers"
)

const (
	// deviceTimeout bounds one call of a device, also while others use its bus.
	deviceTimeout = 10 * time.Second
	// openTimeout is how long a start waits for devices to open; those that take longer come later.
	openTimeout = 2 * time.Second
	// readWait is how long a tick waits for readings. One that comes later counts in the next tick.
	readWait = time.Second
	// quickWait is how long a tick waits that an interlock called for.
	quickWait = 300 * time.Millisecond
	// stopTimeout is how long devices are given to close when the program stops.
	stopTimeout = 2 * time.Second
)

var errHung = errors.New("no answer in time")

// probe is one probe of a house with the worker that opens and reads it.
type probe struct {
	stanza drivers.Stanza
	device drivers.Probe // of its worker; nil until it could be opened
	worker *worker[call, reading]
	err    error // of the last reading, nil while it answers
	told   bool  // its fault has been logged
}

// call is a question to a probe: to read, or only to open it.
type call struct {
	ctx  context.Context
	open bool
}

type reading struct {
	value float64
	err   error
}

func newProbe(stanza drivers.Stanza) *probe {
	p := &probe{stanza: stanza}
	p.worker = startWorker(p.call, p.shut)
	return p
}

// shut runs in the probe's worker, after its last call.
func (p *probe) shut() (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = mistake("probe", p.stanza.Name, fault)
		}
	}()
	if p.device == nil {
		return nil
	}
	return p.device.Close()
}

// call runs in the probe's worker.
func (p *probe) call(c call) (r reading) {
	defer func() {
		if fault := recover(); fault != nil {
			r = reading{err: mistake("probe", p.stanza.Name, fault)}
		}
	}()
	ctx, cancel := context.WithTimeout(c.ctx, deviceTimeout)
	defer cancel()
	if p.device == nil {
		device, err := drivers.OpenProbe(ctx, p.stanza)
		if err != nil {
			return reading{err: err}
		}
		p.device = device
	}
	if c.open {
		return reading{}
	}
	v, err := p.device.Read(ctx)
	return reading{v, err}
}

// mistake is a programmer's mistake in a driver, which costs that device alone.
func mistake(what, name string, fault any) error {
	return fmt.Errorf("%s %s: its driver broke off: %v; this is a mistake of the program\n%s", what, name, fault, debug.Stack())
}

// read asks all probes at once and returns what answered in time, or else to the last question.
func read(ctx context.Context, probes []*probe, raw []judge.Raw, wait time.Duration) {
	waiting, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	answers := make([]reading, len(probes))
	asked := make([]bool, len(probes))
	for i, p := range probes {
		answers[i].err = errHung
		if late, ok := p.worker.late(); ok {
			answers[i] = late
		}
		asked[i] = p.worker.begin(call{ctx: ctx})
	}
	for i, p := range probes {
		if asked[i] {
			if got, ok := p.worker.wait(waiting); ok {
				answers[i] = got
			}
		}
		p.err = answers[i].err
		raw[i] = judge.Raw{Value: answers[i].value, OK: p.err == nil}
		if p.err != nil {
			raw[i] = judge.Raw{}
		}
	}
}
