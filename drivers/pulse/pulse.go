// Package pulse reads the power of an electricity meter from its S0 pulse output, a contact
// between one GPIO line and ground that closes for an instant at each step of its register.
//
// The value is the mean power between the last two pulses. While the next one is late, it is the
// power at which it would come now, so that a fan which has stopped is seen to. Not here: finding
// the line, the sum of the pulses (the ledger keeps energy), judging.
//
// Always: a pulse is a closed contact that lasted, after an open one that lasted, for the debounce
// time each; bouncing and crosstalk count nothing. Pulses that came while nobody looked are in the
// next Read. After a gap in what was noted, a new pair of pulses is awaited. A broken wire cannot
// be told from no consumption.
//
// Source: IEC 62053-31 (DIN 43864), pulse output devices.
package pulse

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"time"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// Debounce is the time a level must last where none is stated: half of the 30 ms that a pulse and
// the pause after it last at least (sensors-S108, from memory).
const Debounce = 15 * time.Millisecond

// Record is what a line did since it was last asked.
type Record struct {
	Edges  []Edge        // in order
	Now    time.Duration // since the line was taken
	Missed bool          // there may have been more edges than these, or it was taken afresh
}

// Edge is one change of a line.
type Edge struct {
	At  time.Duration // since the line was taken
	Low bool          // it went low: the contact closed
}

// Line is an input whose changes are noted.
type Line interface {
	Take() (Record, error)
	String() string
}

// Options describes a meter.
type Options struct {
	Name     string        // for errors
	PerKWh   float64       // pulses for one kWh, 0.1 to 1e6
	Debounce time.Duration // 0 is Debounce
}

// Probe is one meter.
type Probe struct {
	line  Line
	o     Options
	slot  bound.Slot
	count counter // the slot's
	gone  bool
}

// New checks the options. The line is the probe's from now on, and closed with it where it can be
// closed; after an error it is still the caller's.
func New(line Line, o Options) (*Probe, error) {
	p := &Probe{line: line, o: o, slot: bound.NewSlot()}
	if o.Debounce == 0 {
		o.Debounce = Debounce
	}
	p.count.debounce = o.Debounce
	if !(o.PerKWh >= 0.1 && o.PerKWh <= 1e6) {
		return nil, fmt.Errorf("%v: no meter gives %g pulses for one kWh; its front says how many, often 1000", p, o.PerKWh)
	}
	return p, nil
}

// String names the meter and its line.
func (p *Probe) String() string { return fmt.Sprintf("probe %s at %v", p.o.Name, p.line) }

var errFew = errors.New("no two pulses have come yet since it was opened")

// patience is the wait for a pulse after which a meter that has not given two since it was opened
// is taken to stand still, or nearly: at 1000 pulses for one kWh it is 12 W then, and falling.
const patience = 5 * time.Minute

// Read returns the power, W. It gives ErrAbsent where the line has gone and ErrBusy while an earlier
// Read hangs. For the first pulses it waits five minutes, during which there is an error, unless
// two have come.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	if p.gone {
		return 0, fmt.Errorf("%v: %w", p, os.ErrClosed)
	}
	v, err := bound.Do(ctx, p.slot, func(context.Context) (float64, error) {
		r, err := p.line.Take()
		if err != nil {
			return 0, err
		}
		p.count.add(r)
		return p.powerW(r.Now)
	})
	if err != nil {
		return 0, fmt.Errorf("%v: %w", p, err)
	}
	return v, nil
}

// powerW is P = 3.6e6 J/kWh / (pulses per kWh · s), for the last interval or, if longer, the one
// under way.
func (p *Probe) powerW(now time.Duration) (float64, error) {
	since := now - p.count.last
	if p.count.interval == 0 && since < patience {
		return 0, errFew
	}
	longer := max(p.count.interval, since).Seconds()
	return 3.6e6 / (p.o.PerKWh * math.Max(longer, time.Microsecond.Seconds())), nil
}

// Close lets the line go.
func (p *Probe) Close() error {
	if p.gone {
		return nil
	}
	p.gone = true
	return device.Release(p, p.line)
}
