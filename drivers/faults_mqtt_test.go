package drivers_test

import (
	"context"
	"net"
	"sync/atomic"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/packets"

	"loambank/controller/judge"
	"loambank/drivers"
	"loambank/drivers/mqtt"
)

// broker is as much of a broker as one probe needs: it lets it in, takes its subscription, and
// tells what it is asked to, waiting until that is acknowledged.
type broker struct {
	tell  chan packets.Publish
	acked chan struct{}
	order func(*packets.Publish) bool // takes what is published, and whether to acknowledge it
}

func newBroker(t *testing.T, order func(*packets.Publish) bool) (*broker, string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	b := &broker{tell: make(chan packets.Publish), acked: make(chan struct{}), order: order}
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go b.serve(t.Context(), c)
		}
	}()
	return b, "mqtt://" + l.Addr().String()
}

// serve speaks to one client until it leaves.
func (b *broker) serve(ctx context.Context, c net.Conn) {
	defer c.Close()
	for {
		p, err := packets.ReadPacket(c)
		if err != nil {
			return
		}
		var answer *packets.ControlPacket
		switch p.Type {
		case packets.CONNECT:
			answer = packets.NewControlPacket(packets.CONNACK)
		case packets.SUBSCRIBE:
			answer = packets.NewControlPacket(packets.SUBACK)
			ack := answer.Content.(*packets.Suback)
			ack.PacketID, ack.Reasons = p.PacketID(), []byte{1}
		case packets.PUBACK:
			b.acked <- struct{}{}
		case packets.PUBLISH:
			if b.order(p.Content.(*packets.Publish)) {
				answer = packets.NewControlPacket(packets.PUBACK)
				answer.Content.(*packets.Puback).PacketID = p.PacketID()
			}
		case packets.DISCONNECT:
			return
		}
		if answer != nil {
			if _, err := answer.WriteTo(c); err != nil {
				return
			}
		}
		if p.Type == packets.SUBSCRIBE {
			go b.speak(ctx, c)
		}
	}
}

func (b *broker) speak(ctx context.Context, c net.Conn) {
	for n := uint16(1); ; n++ {
		select {
		case m := <-b.tell:
			m.PacketID, m.Topic, m.QoS, m.Properties = n, "lower/air", 1, &packets.Properties{}
			if _, err := m.WriteTo(c); err != nil {
				return
			}
		case <-ctx.Done():
			return
		}
	}
}

// says tells a payload and waits until it was heard.
func (b *broker) says(payload string, kept bool) {
	b.tell <- packets.Publish{Payload: []byte(payload), Retain: kept}
	<-b.acked
}

// told is a probe whose broker tells another value once it is broken, and again once it is mended.
type told struct {
	drivers.Probe
	broken *atomic.Bool
	was    int // 0 before, 1 well, 2 broken
	say    func(broken bool)
}

// Read reads after the broker has told what holds now.
func (p *told) Read(ctx context.Context) (float64, error) {
	is := 1
	if p.broken.Load() {
		is = 2
	}
	if is != p.was {
		p.was = is
		p.say(p.broken.Load())
	}
	return p.Probe.Read(ctx)
}

// hearing is a probe of a broker that tells bad while broken; kept says that it was kept from
// before. An hour has gone by then.
func hearing(json, well, bad string, kept bool) func(*testing.T, *atomic.Bool) (drivers.Probe, error) {
	return func(t *testing.T, broken *atomic.Bool) (drivers.Probe, error) {
		b, url := newBroker(t, nil)
		var hour atomic.Int32
		now := func() time.Time { return time.Date(2026, time.January, 20, int(hour.Load()), 0, 0, 0, time.UTC) }
		p, err := mqtt.NewBrokers().NewProbe(mqtt.ProbeOptions{
			Name: "lower/air", Broker: url, Topic: "lower/air", JSON: json, Stale: 5 * time.Minute, Now: now,
		})
		say := func(broken bool) {
			hour.Add(1)
			switch {
			case !broken:
				b.says(well, false)
			case bad != "":
				b.says(bad, kept)
			}
		}
		return &told{Probe: p, broken: broken, say: say}, err
	}
}

func mqttFaults() []fault {
	row := func(name string, open func(*testing.T, *atomic.Bool) (drivers.Probe, error), is error, says string) fault {
		return fault{
			driver: "mqtt", name: name, role: judge.Air, place: judge.Crop, open: open, is: is, says: says,
			atOnce: judge.Fine, later: judge.Stale, network: true,
		}
	}
	value := func(name, bad string, reads float64, cause judge.Cause) fault {
		f := row(name, hearing("t", `{"t":10.1}`, `{"t":`+bad+`}`, false), nil, "")
		f.reads, f.atOnce, f.later = reads, cause, cause
		return f
	}
	return []fault{
		row("nothing is told any more", hearing("", "10.1", "", false), drivers.ErrAbsent, "nothing was told for 1h0m0s"),
		row("only what the broker kept", hearing("", "10.1", "10.3", true), drivers.ErrAbsent, "nothing was told for 1h0m0s"),
		row("a word for a number", hearing("", "10.1", "unavailable", false), drivers.ErrFormat, `"unavailable" is no number`),
		row("NaN", hearing("", "10.1", "nan", false), drivers.ErrFormat, `"nan" is no number`),
		row("a payload without the value", hearing("t", `{"t":10.1}`, `{"rh":0.5}`, false), drivers.ErrFormat, `has no "t"`),
		row("a payload cut short", hearing("t", `{"t":10.1}`, `{"t":1`, false), drivers.ErrFormat, "is not JSON"),
		value("-127, a lost probe behind it", "-127", -127, judge.ErrorValue),
		value("85, power-on behind it", "85.0", 85, judge.ErrorValue),
		value("a battery's millivolts in its place", "2950", 2950, judge.OutOfRange),
	}
}
