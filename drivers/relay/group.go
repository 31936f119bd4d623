package relay

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"periph.io/x/conn/v3/gpio"

	"loambank/drivers/device"
)

// Pause is the time between the relay of one speed letting go and that of another taking hold,
// where none is stated. A contactor opens in a tenth of a second; the rest lets the motor's field
// fade. Common practice, no source.
const Pause = 500 * time.Millisecond

// GroupOptions describes the relays of a motor with several windings, one relay for each speed.
type GroupOptions struct {
	Name string // for errors
	// ActiveLow says that the low level closes a relay.
	ActiveLow bool
	Pause     time.Duration                              // 0 is Pause
	Sleep     func(context.Context, time.Duration) error // nil is a real wait
}

// Group is one fan of two or three speeds behind as many relays, of which one at most is closed:
// two windings at once burn a motor. Interlock the contactors in their wiring all the same.
type Group struct {
	relays []*Fan // slowest first
	o      GroupOptions
	at     device.Stage // closed now, where known
	known  bool
	gone   bool
}

// NewGroup opens all relays and reads that back. The lines, slowest first, are the fan's from now
// on, and closed with it where they can be closed; after an error they are still the caller's.
func NewGroup(pins []gpio.PinOut, o GroupOptions) (*Group, error) {
	g := &Group{o: o}
	if len(pins) < 2 || len(pins) > 3 {
		return nil, fmt.Errorf("fan %s: %d relays are no group; a motor has two or three speeds", o.Name, len(pins))
	}
	if o.Pause == 0 {
		g.o.Pause = Pause
	}
	if o.Sleep == nil {
		g.o.Sleep = device.Sleep
	}
	var faults []error
	for _, pin := range pins {
		r := &Fan{pin: pin, o: Options{Name: o.Name, ActiveLow: o.ActiveLow}}
		g.relays = append(g.relays, r)
		faults = append(faults, r.put(false))
	}
	if err := errors.Join(faults...); err != nil {
		return nil, err
	}
	g.known = true
	return g, nil
}

// String names the fan and its lines.
func (g *Group) String() string {
	var at []string
	for _, r := range g.relays {
		at = append(at, fmt.Sprint(r.pin))
	}
	return "fan " + g.o.Name + " at " + strings.Join(at, ", ")
}

// Set runs the fan at a speed, 1 the slowest, or puts it off. From one speed to another all relays
// are open first, are seen to be, and stay so for the pause. After an error all relays are open, as
// far as they obey. An order whose time is over is not carried out, except to put the fan off.
func (g *Group) Set(ctx context.Context, stage device.Stage) error {
	if g.gone {
		return fmt.Errorf("%v: %w", g, os.ErrClosed)
	}
	if int(stage) > len(g.relays) {
		return fmt.Errorf("%v: no stage %d; it has %d", g, stage, len(g.relays))
	}
	if stage == 0 {
		return g.open()
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("%v: %w", g, err)
	}
	if err := g.run(ctx, stage); err != nil {
		return errors.Join(err, g.open())
	}
	return nil
}

func (g *Group) run(ctx context.Context, stage device.Stage) error {
	breaks := !g.known || g.at != 0 && g.at != stage
	for i, r := range g.relays { // also while the speed stays, so that a line that was changed is found
		if i != int(stage)-1 || breaks {
			if err := r.put(false); err != nil {
				return err
			}
		}
	}
	if breaks {
		if err := g.o.Sleep(ctx, g.o.Pause); err != nil {
			return fmt.Errorf("%v: between two speeds: %w", g, err)
		}
	}
	g.known = false // until it is seen to have closed
	if err := g.relays[stage-1].put(true); err != nil {
		return err
	}
	g.at, g.known = stage, true
	return nil
}

// open opens all relays, also those after one that does not obey.
func (g *Group) open() error {
	var faults []error
	for _, r := range g.relays {
		faults = append(faults, r.put(false))
	}
	err := errors.Join(faults...)
	if err != nil || g.at != 0 {
		// The pause is due before the next speed even after off, since it may follow at once.
		g.known = false
	}
	g.at = 0
	return err
}

// Close opens all relays and lets the lines go.
func (g *Group) Close() error {
	if g.gone {
		return nil
	}
	g.gone = true
	var faults []error
	for _, r := range g.relays {
		faults = append(faults, r.Close())
	}
	return errors.Join(faults...)
}
