package mqtt

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

const (
	keepAliveS = 10 // so that a broker that vanished is noticed, s
	longestTry = 5 * time.Second
	lastPause  = 30 * time.Second
)

// pause is how long to wait before try n to connect, from 0.
func pause(n int) time.Duration {
	if n == 0 {
		return 0
	}
	return min(time.Second/2<<min(n, 10), lastPause)
}

// link is one connection to a broker, made again whenever it breaks.
type link struct {
	broker *url.URL
	cm     *autopaho.ConnectionManager
	cancel context.CancelFunc
	ctx    context.Context // ends with the link
	work   sync.WaitGroup  // what a new connection has to be told

	mu      sync.Mutex
	hears   map[string][]*ear // by topic
	refused map[string]error  // topics that the broker does not let us hear
	fault   error             // of the last try to connect; nil while connected
	closed  bool
}

// ear hears one topic.
type ear struct {
	topic string
	hear  func(payload []byte, kept bool) // kept says that it was told before we listened
}

// options of a link.
type options struct {
	will *paho.WillMessage
	up   func(context.Context) // called on each new connection, once its topics are heard
}

// dial begins to connect and goes on to until close. Only the login can be at fault.
func dial(broker *url.URL, login Login, o options) (*link, error) {
	password, err := login.password()
	if err != nil {
		return nil, err
	}
	certificates, err := login.tls(broker)
	if err != nil {
		return nil, err
	}
	l := &link{broker: broker, hears: map[string][]*ear{}, refused: map[string]error{}, fault: errors.New("not yet")}
	l.ctx, l.cancel = context.WithCancel(context.Background())
	c := autopaho.ClientConfig{
		ServerUrls: []*url.URL{broker}, TlsCfg: certificates,
		KeepAlive: keepAliveS, ConnectTimeout: longestTry, ReconnectBackoff: pause,
		// Nothing is kept from one connection to the next: an order is never repeated too late.
		CleanStartOnInitialConnection: true,
		ConnectUsername:               login.User, ConnectPassword: password,
		WillMessage: o.will,
		// A broker that is left while it did not acknowledge that the fan is off still has its will.
		DisconnectPacketBuilder: func() *paho.Disconnect { return &paho.Disconnect{ReasonCode: disconnectWithWill} },
		OnConnectError:          l.failed,
		OnConnectionUp:          func(cm *autopaho.ConnectionManager, _ *paho.Connack) { l.connected(cm, o.up) },
		OnConnectionDown:        func() bool { l.failed(errors.New("the connection broke")); return true },
	}
	c.ClientID = "loambank-" + rand.Text()
	c.PacketTimeout = bound.Longest
	c.OnPublishReceived = []func(paho.PublishReceived) (bool, error){l.heard}
	if l.cm, err = autopaho.NewConnection(l.ctx, c); err != nil {
		l.cancel()
		return nil, err
	}
	return l, nil
}

const disconnectWithWill = 0x04 // MQTT 5, 3.14.2.1

func (l *link) failed(err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.fault = err
}

// connected tells a new connection what it must know. It must not block.
func (l *link) connected(cm *autopaho.ConnectionManager, up func(context.Context)) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.fault = nil
	if l.closed {
		return
	}
	var topics []string
	for t := range l.hears {
		topics = append(topics, t)
	}
	l.work.Go(func() {
		for _, t := range topics {
			l.subscribe(cm, t)
		}
		if up != nil {
			up(l.ctx)
		}
	})
}

func (l *link) subscribe(cm *autopaho.ConnectionManager, topic string) {
	ctx, cancel := context.WithTimeout(l.ctx, bound.Longest)
	defer cancel()
	_, err := cm.Subscribe(ctx, &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: topic, QoS: 1}}})
	l.mu.Lock()
	defer l.mu.Unlock()
	if err != nil && !errors.Is(err, autopaho.ConnectionDownError) {
		l.refused[topic] = err
		return
	}
	delete(l.refused, topic)
}

// listen adds an ear.
func (l *link) listen(e *ear) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.hears[e.topic] = append(l.hears[e.topic], e)
	if l.fault == nil && !l.closed {
		l.work.Go(func() { l.subscribe(l.cm, e.topic) })
	}
}

// heard gives a message to all who listen.
func (l *link) heard(m paho.PublishReceived) (bool, error) {
	l.mu.Lock()
	ears := l.hears[m.Packet.Topic]
	l.mu.Unlock()
	for _, e := range ears {
		e.hear(m.Packet.Payload, m.Packet.Retain)
	}
	return true, nil
}

// deaf removes an ear. The broker goes on to tell the topic until the link is closed.
func (l *link) deaf(gone *ear) {
	l.mu.Lock()
	defer l.mu.Unlock()
	var left []*ear
	for _, e := range l.hears[gone.topic] {
		if e != gone {
			left = append(left, e)
		}
	}
	l.hears[gone.topic] = left
	if len(left) == 0 {
		delete(l.hears, gone.topic)
	}
}

// trouble says why nothing may be heard of a topic, nil where that is not the broker's doing.
func (l *link) trouble(topic string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.fault != nil:
		return fmt.Errorf("no connection: %w", l.fault)
	case l.refused[topic] != nil:
		return fmt.Errorf("the broker does not tell it: %w", l.refused[topic])
	}
	return nil
}

// publish waits for a connection and for the broker to acknowledge.
func (l *link) publish(ctx context.Context, topic, payload string) error {
	if err := l.cm.AwaitConnection(ctx); err != nil {
		return fmt.Errorf("%w: %w", device.ErrAbsent, errors.Join(l.trouble(topic), err))
	}
	_, err := l.cm.Publish(ctx, &paho.Publish{Topic: topic, QoS: 1, Retain: true, Payload: []byte(payload)})
	if err != nil {
		return fmt.Errorf("%w: the broker did not acknowledge: %w", device.ErrAbsent, err)
	}
	return nil
}

// close ends the connection and waits for it, 5 s at most.
func (l *link) close() error {
	l.mu.Lock()
	l.closed = true
	l.mu.Unlock()
	ctx, cancel := context.WithTimeout(context.Background(), bound.Longest)
	defer cancel()
	err := l.cm.Disconnect(ctx)
	l.cancel()
	l.work.Wait()
	if err != nil {
		return fmt.Errorf("leaving the broker %s: %w", l.broker.Host, err)
	}
	return nil
}

// CheckTopic reports what is wrong with a topic: it is of the broker's own, has a wildcard, or is
// empty or longer than MQTT allows.
func CheckTopic(topic string) error {
	if topic == "" || len(topic) > 65535 || strings.ContainsAny(topic, "#+\x00") || strings.HasPrefix(topic, "$") {
		return fmt.Errorf("%.40q is no topic of one device; write it in full, without # and +", topic)
	}
	return nil
}
