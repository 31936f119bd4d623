package mqtt

import (
	"context"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"sync"

	"github.com/eclipse/paho.golang/paho"

	"loambank/drivers/bound"
)

// TellerOptions describes a Teller. Two that are equal mean the same one.
type TellerOptions struct {
	Broker string // see ParseBroker
	Login  Login
	Topic  string // under which all stands
}

// Teller has a broker keep texts: on Topic/online "1", which the broker itself makes "0" when the
// connection breaks, and on topics of their own the last text of each. What is told while the broker
// is away is told when it comes back. Its methods are safe from any goroutine, and only Close waits.
type Teller struct {
	o    TellerOptions
	link *link
	call chan struct{} // there is something to tell
	done chan struct{}

	mu   sync.Mutex
	last map[string]string // by topic
	due  map[string]bool
}

// Of Topic/online.
const here, gone = "1", "0"

// NewTeller begins to connect. Only what is wrong with the options is an error.
func NewTeller(o TellerOptions) (*Teller, error) {
	broker, err := o.check()
	if err != nil {
		return nil, fmt.Errorf("telling a broker: %w", err)
	}
	t := &Teller{
		o: o, call: make(chan struct{}, 1), done: make(chan struct{}), last: map[string]string{}, due: map[string]bool{},
	}
	t.last[t.online()] = here
	t.link, err = dial(broker, o.Login, options{
		will: &paho.WillMessage{Topic: t.online(), Payload: []byte(gone), QoS: 1, Retain: true},
		up:   func(context.Context) { t.again() },
	})
	if err != nil {
		return nil, fmt.Errorf("telling broker %s: %w", broker.Host, err)
	}
	go t.work()
	return t, nil
}

func (o TellerOptions) check() (*url.URL, error) {
	if err := CheckTopic(o.Topic); err != nil {
		return nil, err
	}
	return ParseBroker(o.Broker)
}

func (t *Teller) online() string { return t.o.Topic + "/online" }

// Tell has the broker keep a text under Topic/name, unless it was told last. CheckTopic has found
// nothing wrong with it.
func (t *Teller) Tell(name, text string) {
	topic := t.o.Topic + "/" + name
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.last[topic] == text {
		return
	}
	t.last[topic], t.due[topic] = text, true
	t.nudge()
}

// again tells a new connection everything: who came while we were away should not wait.
func (t *Teller) again() {
	t.mu.Lock()
	defer t.mu.Unlock()
	for topic := range t.last {
		t.due[topic] = true
	}
	t.nudge()
}

func (t *Teller) nudge() {
	select {
	case t.call <- struct{}{}:
	default: // it was called already
	}
}

// Trouble says why nothing is told, nil while it is.
func (t *Teller) Trouble() error { return t.link.trouble(t.o.Topic) }

// work publishes what is due, until the link ends.
func (t *Teller) work() {
	defer close(t.done)
	for {
		select {
		case <-t.call:
		case <-t.link.ctx.Done():
			return
		}
		for {
			topic, text, found := t.next()
			if !found || !t.publish(topic, text) {
				break // what is left is told by the next connection, or with the next text
			}
		}
	}
}

// next is a text that is due, in the order of topics.
func (t *Teller) next() (topic, text string, found bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.due) == 0 {
		return "", "", false
	}
	topic = slices.Min(slices.Collect(maps.Keys(t.due)))
	delete(t.due, topic)
	return topic, t.last[topic], true
}

func (t *Teller) publish(topic, text string) bool {
	ctx, cancel := context.WithTimeout(t.link.ctx, bound.Longest)
	defer cancel()
	if t.link.publish(ctx, topic, text) == nil {
		return true
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.due[topic] = true
	return false
}

// Close has the broker know that nothing is told any more, and leaves it: 5 s at most.
func (t *Teller) Close() error {
	ctx, cancel := context.WithTimeout(context.Background(), bound.Longest)
	defer cancel()
	if t.link.trouble(t.o.Topic) == nil {
		_ = t.link.publish(ctx, t.online(), gone) // else the broker says so by itself
	}
	err := t.link.close()
	<-t.done
	return err
}
