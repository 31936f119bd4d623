package file

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"

	"loambank/drivers/device"
)

// ProbeOptions describes a probe file.
type ProbeOptions struct {
	Name   string // for errors
	Path   string
	Format string // "w1", "milli", "plain"; "" finds out
	// The value is the file's number times Scale plus Offset. A Scale of 0 is taken as 1.
	Scale, Offset float64
}

// Probe is one probe file.
type Probe struct {
	o    ProbeOptions
	slot slot
	gone bool
	load func(context.Context, string) ([]byte, error)
}

// NewProbe checks the options. The file need not be there yet.
func NewProbe(o ProbeOptions) (*Probe, error) {
	p := &Probe{o: o, slot: make(slot, 1), load: slurp}
	if o.Path == "" {
		return nil, fmt.Errorf("probe %s: no path; give the file to read", o.Name)
	}
	switch o.Format {
	case "", "w1", "milli", "plain":
	default:
		return nil, fmt.Errorf("%v: unknown format %.40q; it is one of w1, milli, plain", p, o.Format)
	}
	if o.Scale == 0 {
		p.o.Scale = 1
	}
	for _, v := range []float64{o.Scale, o.Offset} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("%v: scale and offset must be finite numbers", p)
		}
	}
	return p, nil
}

// String names the probe and its file.
func (p *Probe) String() string { return "probe " + p.o.Name + " at " + p.o.Path }

// Read reads the file once. It gives ErrAbsent where there is no such file, ErrCRC, ErrPowerOn
// and ErrFormat for what the file holds, and ErrBusy while an earlier Read hangs.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	if p.gone {
		return 0, fmt.Errorf("%v: %w", p, os.ErrClosed)
	}
	got := make(chan []byte, 1) // not a variable: a call left behind may still want to write it
	err := p.slot.do(ctx, false, func(ctx context.Context) error {
		b, err := p.load(ctx, p.o.Path)
		got <- b
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("%v: %w", p, err)
	}
	v, err := parse(p.form(<-got))
	if err == nil {
		v = v*p.o.Scale + p.o.Offset
		if math.IsInf(v, 0) {
			err = fmt.Errorf("scale takes the value out of range: %w", device.ErrFormat)
		}
	}
	if err != nil {
		return 0, fmt.Errorf("%v: %w", p, err)
	}
	return v, nil
}

// form returns the stated form or the one that path and content tell.
func (p *Probe) form(b []byte) (string, []byte) {
	if p.o.Format != "" {
		return p.o.Format, b
	}
	return detect(p.o.Path, b), b
}

// Close ends the probe. No file is open between reads.
func (p *Probe) Close() error {
	p.gone = true
	return nil
}

// parse reads what a file of that form holds.
func parse(form string, b []byte) (float64, error) {
	b = bytes.TrimSpace(b)
	if len(b) == 0 {
		return 0, fmt.Errorf("the file is empty; expected %s: %w", expected(form), device.ErrFormat)
	}
	switch form {
	case "w1":
		return parseW1(b)
	case "milli":
		return parseMilli(b)
	}
	return parsePlain(b)
}
