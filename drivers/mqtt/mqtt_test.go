package mqtt

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"loambank/drivers/device"
)

func TestProbesOfOneBroker(t *testing.T) {
	b := startBroker(t, "mqtt")
	teller := b.listen(t, "none")
	if err := teller.publish(t.Context(), "air", "99"); err != nil { // which the broker keeps
		t.Fatal(err)
	}
	all := NewBrokers()
	var mu sync.Mutex
	now := time.Date(2027, 1, 5, 3, 0, 0, 0, time.UTC)
	clock := func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
	air := openProbe(t, all, ProbeOptions{Broker: b.url, Topic: "air", Now: clock})
	soil := openProbe(t, all, ProbeOptions{Broker: b.url, Topic: "soil", JSON: "probes.1.celsius", Now: clock})
	teller.tell(t, "soil", `{"probes": [{"celsius": 3}, {"celsius": 12.5}]}`, soil.reads(t, 12.5))
	if v, err := air.Read(t.Context()); !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "nothing was told yet") {
		t.Errorf("only what the broker kept: %v, %v; want ErrAbsent", v, err)
	}
	if len(all.used) != 1 {
		t.Errorf("%d connections; want one", len(all.used))
	}
	teller.tell(t, "air", " -1.25\n", air.reads(t, -1.25))
	teller.tell(t, "air", "frost", func() bool { _, err := air.Read(t.Context()); return errors.Is(err, device.ErrFormat) })
	teller.tell(t, "air", "4", air.reads(t, 4))
	mu.Lock()
	now = now.Add(time.Minute)
	mu.Unlock()
	if v, err := air.Read(t.Context()); err != nil || v != 4 {
		t.Errorf("as old as may be: %v, %v; want 4", v, err)
	}
	mu.Lock()
	now = now.Add(time.Second)
	mu.Unlock()
	if v, err := air.Read(t.Context()); !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "nothing was told for 1m1s") {
		t.Errorf("older: %v, %v; want ErrAbsent and how old", v, err)
	}
	if err := errors.Join(air.Close(), air.Close()); err != nil || len(all.used) != 1 {
		t.Errorf("%v, %d connections; want that of the other kept", err, len(all.used))
	}
	if _, err := air.Read(t.Context()); !errors.Is(err, os.ErrClosed) {
		t.Errorf("after Close: %v", err)
	}
	if err := soil.Close(); err != nil || len(all.used) != 0 {
		t.Errorf("%v, %d connections; want none", err, len(all.used))
	}
}

func TestProbesThatCannotBe(t *testing.T) {
	for _, o := range []ProbeOptions{
		{Broker: "http://127.0.0.1", Topic: "a", Stale: 1},
		{Broker: "mqtt://127.0.0.1", Topic: "a/+", Stale: 1},
		{Broker: "mqtt://127.0.0.1", Topic: "a", JSON: "a..b", Stale: 1},
		{Broker: "mqtt://127.0.0.1", Topic: "a"},
		{Broker: "mqtt://127.0.0.1", Topic: "a", Stale: 1, Login: Login{CAFile: "ca.pem"}},
		{Broker: "mqtts://127.0.0.1", Topic: "a", Stale: 1, Login: Login{CAFile: "mqtt_test.go"}},
		{Broker: "mqtts://127.0.0.1", Topic: "a", Stale: 1, Login: Login{CertFile: "none"}},
		{Broker: "mqtt://127.0.0.1", Topic: "a", Stale: 1, Login: Login{User: "a", PasswordFile: "none"}},
		{Broker: "mqtt://127.0.0.1", Topic: "a", Stale: 1, Login: Login{User: "a", PasswordFile: os.DevNull}},
	} {
		if p, err := NewBrokers().NewProbe(o); err == nil {
			p.Close()
			t.Errorf("%+v is opened", o)
		}
	}
}

func TestFanOrdersAreKeptByTheBroker(t *testing.T) {
	b := startBroker(t, "mqtt")
	l := b.listen(t, "beds/east/set")
	f := openFan(t, fanOptions(b))
	until(t, "off", func() bool { return l.last() == "OFF" })
	for stage, want := range []string{"OFF", "LOW", "HIGH"} {
		if err := f.Set(t.Context(), device.Stage(stage)); err != nil {
			t.Errorf("stage %d: %v", stage, err)
		}
		until(t, want, func() bool { return l.last() == want })
	}
	later := b.listen(t, "beds/east/set")
	until(t, "the order is kept", func() bool { return later.last() == "HIGH" })
	if err := f.Set(t.Context(), 3); err == nil || !strings.Contains(err.Error(), "no stage 3; it has 2") {
		t.Errorf("stage 3: %v", err)
	}
	if err := errors.Join(f.Close(), f.Close()); err != nil {
		t.Error(err)
	}
	until(t, "off after Close", func() bool { return l.last() == "OFF" })
	if err := f.Set(t.Context(), 1); !errors.Is(err, os.ErrClosed) {
		t.Errorf("after Close: %v", err)
	}
}

// Where the daemon dies, the broker puts the fan off; here only its connection does.
func TestTheLastWillIsOff(t *testing.T) {
	b := startBroker(t, "mqtt")
	l := b.listen(t, "beds/east/set")
	f := openFan(t, fanOptions(b))
	if err := f.Set(t.Context(), 2); err != nil {
		t.Fatal(err)
	}
	until(t, "it runs", func() bool { return l.last() == "HIGH" })
	f.turn <- struct{}{} // as if the program hung: nothing is told again
	f.link.cm.TerminateConnectionForTest()
	until(t, "the will", func() bool { return l.last() == "OFF" })
	<-f.turn
	until(t, "the stage again", func() bool { return l.last() == "HIGH" })
}

func TestABrokerIsKilledAndStartedAgain(t *testing.T) {
	b := startBroker(t, "mqtt")
	probe := openProbe(t, NewBrokers(), ProbeOptions{Broker: b.url, Topic: "air", Stale: time.Hour})
	l := b.listen(t, "beds/east/set")
	l.tell(t, "air", "7", probe.reads(t, 7))
	f := openFan(t, fanOptions(b))
	if err := f.Set(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	until(t, "it runs", func() bool { return l.last() == "LOW" })
	b.kill()
	l.Lock()
	l.heard = nil
	l.Unlock()
	b.start(t) // with nothing kept
	until(t, "the stage is told again", func() bool { return l.last() == "LOW" })
	l.tell(t, "air", "8", probe.reads(t, 8))

	b.kill()
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	if err := f.Set(ctx, 2); !errors.Is(err, device.ErrAbsent) || !strings.HasPrefix(err.Error(), "fan lower/beds/east at beds/east/set of 127.0.0.1:") {
		t.Errorf("without a broker: %v; want ErrAbsent", err)
	}
	until(t, "the probe says why", func() bool {
		probe.mu.Lock()
		probe.at = time.Time{}
		probe.mu.Unlock()
		_, err := probe.Read(t.Context())
		return errors.Is(err, device.ErrAbsent) && strings.Contains(err.Error(), "no connection: ")
	})
	l.Lock()
	l.heard = nil
	l.Unlock()
	b.start(t)
	until(t, "off, after an order that was not obeyed", func() bool { return l.last() == "OFF" })
	l.Lock()
	defer l.Unlock()
	for _, p := range l.heard {
		if p != "OFF" {
			t.Errorf("heard %q; want an order that failed never repeated", p)
		}
	}
}

func TestNoBroker(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	f, err := NewFan(ctx, FanOptions{Name: "a", Broker: "mqtt://127.0.0.1:1", Topic: "a", Payloads: []string{"0", "1"}})
	if f != nil || !errors.Is(err, device.ErrAbsent) {
		t.Errorf("got %v; want ErrAbsent", err)
	}
	for _, payloads := range [][]string{nil, {"0"}, {"0", "0"}, {"", "1"}} {
		if _, err := NewFan(ctx, FanOptions{Name: "a", Broker: "mqtt://127.0.0.1:1", Topic: "a", Payloads: payloads}); err == nil || !strings.Contains(err.Error(), "one for off") {
			t.Errorf("%q: %v; want them refused", payloads, err)
		}
	}
}

func TestAFanTellsItsStage(t *testing.T) {
	b := startBroker(t, "mqtt")
	relay := b.listen(t, "none")
	var obeys sync.Map
	says := make(chan string, 100)
	relay.listen(&ear{topic: "beds/east/set", hear: func(p []byte, _ bool) {
		said := string(p)
		if _, stuck := obeys.Load("stuck"); stuck {
			said = "OFF"
		}
		if _, dumb := obeys.Load("dumb"); !dumb {
			says <- said
		}
	}})
	relay.work.Go(func() { // in the order in which it was told
		for {
			select {
			case said := <-says:
				relay.publish(relay.ctx, "beds/east/is", `{"relay": ["`+said+`"]}`)
			case <-relay.ctx.Done():
				return
			}
		}
	})
	relay.tell(t, "warm/up", "1", func() bool { return true })
	o := fanOptions(b)
	o.State, o.JSON = "beds/east/is", "relay.0"
	f := openFan(t, o)
	for _, stage := range []device.Stage{1, 2, 2, 0, 1} {
		if err := f.Set(t.Context(), stage); err != nil {
			t.Errorf("stage %d: %v", stage, err)
		}
	}
	set := func(stage device.Stage) error {
		ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
		defer cancel()
		return f.Set(ctx, stage)
	}
	obeys.Store("stuck", true)
	if err := set(2); err == nil || !strings.Contains(err.Error(), `beds/east/is tells "OFF" after "HIGH" was ordered`) || f.wanted != 0 {
		t.Errorf("a fan that does not start: %v, %d is wanted; want that, and off", err, f.wanted)
	}
	obeys.Store("dumb", true)
	if err := set(1); !errors.Is(err, device.ErrAbsent) || !strings.Contains(err.Error(), "nothing was told on beds/east/is") {
		t.Errorf("a fan that tells nothing: %v; want ErrAbsent", err)
	}
	obeys.Delete("stuck")
	obeys.Delete("dumb")
	if err := f.Set(t.Context(), 2); err != nil {
		t.Errorf("once it obeys: %v", err)
	}
}

func TestAnEncryptedBrokerWithAUser(t *testing.T) {
	dir := t.TempDir()
	authority(t, dir, "broker", "board")
	word := filepath.Join(dir, "word")
	os.WriteFile(word, []byte("soil and straw\r\nnot this\n"), 0o600)
	known := filepath.Join(dir, "known")
	tool, err := exec.LookPath("mosquitto_passwd")
	if err != nil {
		startBroker(t, "mqtt") // skips, or fails, where the package is missing
		t.Skip("mosquitto_passwd is missing")
	}
	if out, err := exec.Command(tool, "-b", "-c", known, "loambank", "soil and straw").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	b := startBroker(t, "mqtts", files(dir), "require_certificate true", "password_file "+known, "allow_anonymous false")
	good := Login{
		CAFile: filepath.Join(dir, "ca.pem"), CertFile: filepath.Join(dir, "board.pem"), KeyFile: filepath.Join(dir, "board.key"),
		User: "loambank", PasswordFile: word,
	}
	o := fanOptions(b)
	o.Login = good
	f := openFan(t, o)
	if err := f.Set(t.Context(), 1); err != nil {
		t.Error(err)
	}
	other := filepath.Join(dir, "other")
	os.Mkdir(other, 0o700)
	authority(t, other)
	for name, spoil := range map[string]func(*Login){
		"a broker that another authority signed": func(l *Login) { l.CAFile = filepath.Join(other, "ca.pem") },
		"no certificate of our own":              func(l *Login) { l.CertFile, l.KeyFile = "", "" },
		"another user":                           func(l *Login) { l.User = "guest" },
		"no user":                                func(l *Login) { l.User, l.PasswordFile = "", "" },
	} {
		o.Login = good
		spoil(&o.Login)
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		if f, err := NewFan(ctx, o); !errors.Is(err, device.ErrAbsent) {
			t.Errorf("%s: %v, %v; want it refused", name, f, err)
		}
		cancel()
	}
}

func TestPathsOfPayloads(t *testing.T) {
	for _, c := range []struct {
		path, payload string
		want          float64
		bad           bool
	}{
		{"", "12.5", 12.5, false},
		{"", " 1e-3 ", 0.001, false},
		{"", "NaN", 0, true},
		{"", "1e999", 0, true},
		{"", `{"a": 1}`, 0, true},
		{"a", `{"a": 1}`, 1, false},
		{"a.b.2", `{"a": {"b": [1, 2, "3.5"]}}`, 3.5, false},
		{"a.3", `{"a": [1, 2, 3]}`, 0, true},
		{"a.-1", `{"a": [1, 2, 3]}`, 0, true},
		{"a.0", `{"a": {"0": 7}}`, 7, false},
		{"a", `{"a": true}`, 1, false},
		{"a", `{"a": null}`, 0, true},
		{"a", `{"a": {}}`, 0, true},
		{"a", `{"b": 1}`, 0, true},
		{"a.b", `{"a": 1}`, 0, true},
		{"a", `{"a": `, 0, true},
		{"a", ``, 0, true},
	} {
		p, err := ParsePath(c.path)
		if err != nil {
			t.Fatal(err)
		}
		v, err := p.Number([]byte(c.payload))
		if errors.Is(err, device.ErrFormat) != c.bad || v != c.want {
			t.Errorf("%q of %s: %v, %v; want %v, bad %v", c.path, c.payload, v, err, c.want, c.bad)
		}
	}
}

func FuzzPath(f *testing.F) {
	f.Add("a.b.2", `{"a": {"b": [1, 2, "3.5"]}}`)
	f.Add("", "12.5")
	f.Add("a..b", "[]")
	f.Add("0", "[true]")
	f.Fuzz(func(t *testing.T, path, payload string) {
		p, err := ParsePath(path)
		if err != nil {
			return
		}
		if p.String() != path {
			t.Errorf("%q becomes %q", path, p)
		}
		v, err := p.Number([]byte(payload))
		if err != nil && !errors.Is(err, device.ErrFormat) || v != v || v-v != 0 {
			t.Errorf("%q of %q: %v, %v", path, payload, v, err)
		}
	})
}
