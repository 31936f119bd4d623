package mqtt

import (
	"context"
	"fmt"
	"os"
	"sync"
	"time"

	"loambank/drivers/device"
)

// ProbeOptions describes a probe.
type ProbeOptions struct {
	Name   string // for errors
	Broker string // see ParseBroker
	Login  Login
	Topic  string
	JSON   string           // path to the number, see ParsePath
	Stale  time.Duration    // a value that is older is none; over 0
	Now    func() time.Time // nil is the machine's clock
}

// Probe is one value that a topic tells. It is used by one goroutine at a time.
type Probe struct {
	o       ProbeOptions
	path    Path
	link    *link
	ear     *ear
	release func() error
	gone    bool

	mu    sync.Mutex
	value float64
	fault error     // of the last message
	at    time.Time // of the last message; zero before the first
}

// NewProbe begins to listen. The broker need not be there yet. Files that cannot be read and faults
// in the options are errors.
func (b *Brokers) NewProbe(o ProbeOptions) (*Probe, error) {
	p := &Probe{o: o}
	if o.Now == nil {
		p.o.Now = time.Now
	}
	broker, err := ParseBroker(o.Broker)
	if err == nil {
		p.path, err = ParsePath(o.JSON)
	}
	if err == nil {
		err = CheckTopic(o.Topic)
	}
	if err == nil && o.Stale <= 0 {
		err = fmt.Errorf("a value is not fresh for %v; state for how long", o.Stale)
	}
	if err != nil {
		return nil, fmt.Errorf("probe %s: %w", o.Name, err)
	}
	if p.link, p.release, err = b.take(broker, o.Login); err != nil {
		return nil, fmt.Errorf("probe %s: %w", o.Name, err)
	}
	p.ear = &ear{topic: o.Topic, hear: p.hear}
	p.link.listen(p.ear)
	return p, nil
}

// String names the probe, its topic and its broker.
func (p *Probe) String() string {
	return fmt.Sprintf("probe %s at %s of %s", p.o.Name, p.o.Topic, p.link.broker.Host)
}

// hear keeps what was told. What the broker kept from before may be days old.
func (p *Probe) hear(payload []byte, kept bool) {
	if kept {
		return
	}
	v, err := p.path.Number(payload)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.value, p.fault, p.at = v, err, p.o.Now()
}

// Read returns the last value at once. It gives ErrAbsent where none was told within the time that
// one is fresh, and ErrFormat where the last message was no number.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	if p.gone {
		return 0, fmt.Errorf("%v: %w", p, os.ErrClosed)
	}
	if err := ctx.Err(); err != nil {
		return 0, fmt.Errorf("%v: %w", p, err)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	age := p.o.Now().Sub(p.at)
	switch {
	case !p.at.IsZero() && age <= p.o.Stale && p.fault != nil:
		return 0, fmt.Errorf("%v: %w", p, p.fault)
	case !p.at.IsZero() && age <= p.o.Stale:
		return p.value, nil
	}
	last := "nothing was told yet"
	if !p.at.IsZero() {
		last = fmt.Sprintf("nothing was told for %v", age.Round(time.Second))
	}
	if err := p.link.trouble(p.o.Topic); err != nil {
		return 0, fmt.Errorf("%v: %w: %s; %w", p, device.ErrAbsent, last, err)
	}
	return 0, fmt.Errorf("%v: %w: %s", p, device.ErrAbsent, last)
}

// Close stops listening, and leaves the broker with the last who listens. It may be called twice.
func (p *Probe) Close() error {
	if p.gone {
		return nil
	}
	p.gone = true
	p.link.deaf(p.ear)
	if err := p.release(); err != nil {
		return fmt.Errorf("%v: %w", p, err)
	}
	return nil
}
