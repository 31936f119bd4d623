package mqtt

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"sync"

	"github.com/eclipse/paho.golang/paho"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// FanOptions describes a fan.
type FanOptions struct {
	Name     string // for errors
	Broker   string // see ParseBroker
	Login    Login
	Topic    string   // of its orders
	Payloads []string // for each stage, that of off first; no two are alike
	State    string   // topic on which the fan tells its stage, as one of Payloads; "" for none
	JSON     string   // path to the stage in what is told on State, see ParsePath
}

// Fan is something at a broker that takes orders. It is used by one goroutine at a time.
type Fan struct {
	o    FanOptions
	path Path
	link *link
	gone bool

	turn   bound.Slot   // held by who publishes, so that a new connection never repeats an older order
	wanted device.Stage // turn's: of the last order that was obeyed, 0 after one that was not
	sent   device.Stage // turn's: of the last order that was published

	mu    sync.Mutex
	state string        // told last, "" for nothing since the stage was changed
	told  chan struct{} // closed and made anew with each state
}

// NewFan puts the fan off and waits until that is acknowledged, and told where it has a state. A
// broker or fan that is not there is an error.
func NewFan(ctx context.Context, o FanOptions) (*Fan, error) {
	f := &Fan{o: o, turn: bound.NewSlot(), told: make(chan struct{})}
	err := f.check()
	if err != nil {
		return nil, fmt.Errorf("fan %s: %w", o.Name, err)
	}
	broker, err := ParseBroker(o.Broker)
	if err != nil {
		return nil, fmt.Errorf("fan %s: %w", o.Name, err)
	}
	f.turn <- struct{}{} // the first connection waits until it may be told something
	f.link, err = dial(broker, o.Login, options{
		will: &paho.WillMessage{Topic: o.Topic, Payload: []byte(o.Payloads[0]), QoS: 1, Retain: true},
		up:   f.again,
	})
	if err != nil {
		<-f.turn
		return nil, fmt.Errorf("fan %s: broker %s: %w", o.Name, broker.Host, err)
	}
	if o.State != "" {
		f.link.listen(&ear{topic: o.State, hear: f.hear})
	}
	<-f.turn
	if err := f.put(ctx, 0); err != nil {
		f.link.close() // the fault is told
		return nil, err
	}
	return f, nil
}

func (f *Fan) check() (err error) {
	if f.path, err = ParsePath(f.o.JSON); err != nil {
		return err
	}
	if err := CheckTopic(f.o.Topic); err != nil {
		return err
	}
	if f.o.State != "" {
		if err := CheckTopic(f.o.State); err != nil {
			return err
		}
	}
	sorted := slices.Sorted(slices.Values(f.o.Payloads))
	if len(sorted) < 2 || len(slices.Compact(sorted)) != len(f.o.Payloads) || slices.Contains(f.o.Payloads, "") {
		return fmt.Errorf("payloads %q; write one for off and one for each stage, all different", f.o.Payloads)
	}
	return nil
}

// String names the fan, its topic and its broker.
func (f *Fan) String() string {
	return fmt.Sprintf("fan %s at %s of %s", f.o.Name, f.o.Topic, f.link.broker.Host)
}

// hear notes the stage that the fan tells.
func (f *Fan) hear(payload []byte, _ bool) {
	text, err := f.path.Find(payload)
	if err != nil {
		return // the order that waits for it says what is missing
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.state = text
	close(f.told)
	f.told = make(chan struct{})
}

// again tells a new connection what holds.
func (f *Fan) again(ctx context.Context) {
	select {
	case f.turn <- struct{}{}:
	case <-ctx.Done():
		return
	}
	defer func() { <-f.turn }()
	ctx, cancel := context.WithTimeout(ctx, bound.Longest)
	defer cancel()
	f.send(ctx, f.wanted) //nolint:errcheck // if it breaks again, it is told again
}

// send publishes a stage. The caller has the turn.
func (f *Fan) send(ctx context.Context, stage device.Stage) error {
	if stage != f.sent {
		f.mu.Lock()
		f.state = ""
		f.mu.Unlock()
	}
	f.sent = stage
	return f.link.publish(ctx, f.o.Topic, f.o.Payloads[stage])
}

// Set publishes a stage and waits until the broker acknowledges and, where the fan tells its state,
// until that is the stage. A fan that tells its state only when it changes is believed that it did
// not. It gives ErrAbsent where the broker or the state stays away; then off is what holds.
func (f *Fan) Set(ctx context.Context, stage device.Stage) error {
	if f.gone {
		return fmt.Errorf("%v: %w", f, os.ErrClosed)
	}
	return f.put(ctx, stage)
}

func (f *Fan) put(ctx context.Context, stage device.Stage) error {
	if int(stage) >= len(f.o.Payloads) {
		return fmt.Errorf("%v: no stage %d; it has %d", f, stage, len(f.o.Payloads)-1)
	}
	if _, bounded := ctx.Deadline(); !bounded {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, bound.Longest)
		defer cancel()
	}
	select {
	case f.turn <- struct{}{}:
	case <-ctx.Done():
		return fmt.Errorf("%v: %w", f, device.ErrBusy)
	}
	defer func() { <-f.turn }()
	f.wanted = 0 // also for a connection that is new before this order is through
	err := ctx.Err()
	if err == nil {
		err = f.send(ctx, stage)
	}
	if err == nil && f.o.State != "" {
		err = f.verify(ctx, f.o.Payloads[stage])
	}
	if err != nil {
		return fmt.Errorf("%v: %w", f, err)
	}
	f.wanted = stage
	return nil
}

// verify waits until the fan tells a stage.
func (f *Fan) verify(ctx context.Context, want string) error {
	for {
		f.mu.Lock()
		state, told := f.state, f.told
		f.mu.Unlock()
		if state == want {
			return nil
		}
		select {
		case <-told:
		case <-ctx.Done():
			if state == "" {
				return fmt.Errorf("%w: nothing was told on %s after %.40q was ordered", device.ErrAbsent, f.o.State, want)
			}
			return fmt.Errorf("%s tells %.40q after %.40q was ordered", f.o.State, state, want)
		}
	}
}

// Close puts the fan off, waits until that is acknowledged, 5 s at most, and leaves the broker,
// which puts it off once more.
func (f *Fan) Close() error {
	if f.gone {
		return nil
	}
	f.gone = true
	return errors.Join(f.put(context.Background(), 0), f.link.close())
}
