package hand_test

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/commission"
	"loambank/controller/decide"
	"loambank/controller/hand"
	"loambank/controller/house"
)

func TestRequestsAreChecked(t *testing.T) {
	const hour = 3600
	frosty, absurd, coldest, warmest := -12.5, -60.1, -60.0, 40.0
	tests := []struct {
		name string
		r    hand.Request
		want string // of the error; empty is none
	}{
		{"fans run for a while", hand.Request{Do: hand.Run, House: "lower", ForS: 60}, ""},
		{"for twelve hours at most", hand.Request{Do: hand.Run, House: "lower", ForS: 12 * hour}, ""},
		{"not longer", hand.Request{Do: hand.Run, House: "lower", ForS: 12*hour + 1}, "run needs a time of 1 s to 12 h"},
		{"nor for ever", hand.Request{Do: hand.Run, House: "lower"}, "run needs a time"},
		{"nor backwards", hand.Request{Do: hand.Run, House: "lower", ForS: -60}, "run needs a time"},
		{"they stay off for four hours", hand.Request{Do: hand.Off, House: "lower", ForS: 4 * hour}, ""},
		{"not longer", hand.Request{Do: hand.Off, House: "lower", ForS: 4*hour + 1}, "write --long if that is meant"},
		{"unless it is asked for twice", hand.Request{Do: hand.Off, House: "lower", ForS: 4*hour + 1, Long: true}, ""},
		{"up to thirty days", hand.Request{Do: hand.Off, House: "lower", ForS: 30 * 24 * hour, Long: true}, ""},
		{"not longer", hand.Request{Do: hand.Off, House: "lower", ForS: 30*24*hour + 1, Long: true}, "off needs a time"},
		{"nor for ever", hand.Request{Do: hand.Off, House: "lower"}, "off needs a time"},
		{"a speed goes with running", hand.Request{Do: hand.Run, House: "lower", ForS: 60, Stage: 2}, ""},
		{"the hundredth", hand.Request{Do: hand.Run, House: "lower", ForS: 60, Stage: hand.MaxStage}, ""},
		{"no further", hand.Request{Do: hand.Run, House: "lower", ForS: 60, Stage: hand.MaxStage + 1}, "a stage goes with run"},
		{"and with nothing else", hand.Request{Do: hand.Off, House: "lower", ForS: 60, Stage: 2}, "a stage goes with run"},
		{"no speed is negative", hand.Request{Do: hand.Run, House: "lower", ForS: 60, Stage: -1}, "a stage goes with run"},
		{"one fan runs alone", hand.Request{Do: hand.Run, House: "lower", Store: "beds", Fan: "west", ForS: 60}, ""},
		{"of a store that is named", hand.Request{Do: hand.Run, House: "lower", Fan: "west", ForS: 60}, "one fan alone goes with run and with its store"},
		{"and is not kept off alone", hand.Request{Do: hand.Off, House: "lower", Store: "beds", Fan: "west", ForS: 60}, "one fan alone goes with run"},
		{"auto holds until further notice", hand.Request{Do: hand.Auto, House: "lower"}, ""},
		{"not for a time", hand.Request{Do: hand.Auto, House: "lower", ForS: 60}, "auto holds until further notice"},
		{"clearing has no time", hand.Request{Do: hand.Clear, House: "lower", ForS: 60}, "clear holds until further notice"},
		{"a house is named", hand.Request{Do: hand.Auto}, "no house is named"},
		{"but not to silence the bell", hand.Request{Do: hand.Quiet}, ""},
		{"nor to have the clock believed", hand.Request{Do: hand.Clock}, ""},
		{"a low is told", hand.Request{Do: hand.Low, House: "lower", LowC: &frosty}, ""},
		{"no low is none", hand.Request{Do: hand.Low, House: "lower"}, "an expected low is an outside temperature"},
		{"nor one of no garden", hand.Request{Do: hand.Low, House: "lower", LowC: &absurd}, "an expected low is an outside temperature"},
		{"as cold as can be", hand.Request{Do: hand.Low, House: "lower", LowC: &coldest}, ""},
		{"and as warm", hand.Request{Do: hand.Low, House: "lower", LowC: &warmest}, ""},
		{"a low is of a house", hand.Request{Do: hand.Low, LowC: &frosty}, "no house is named"},
		{"a house is looked at", hand.Request{Do: hand.Look, House: "lower"}, ""},
		{"a round is kept under its house", hand.Request{Do: hand.Round, House: "lower", Round: &commission.Baseline{House: "lower"}}, ""},
		{"and under no other", hand.Request{Do: hand.Round, House: "lower", Round: &commission.Baseline{House: "upper"}}, "keep it under its own"},
		{"other words are no orders", hand.Request{Do: "faster", House: "lower"}, `"faster" is no order`},
		{"another version is refused", hand.Request{Schema: 2, Do: hand.Quiet}, "schema 1"},
	}
	for _, tt := range tests {
		if tt.r.Schema == 0 {
			tt.r.Schema = 1
		}
		err := tt.r.Check()
		if (err == nil) != (tt.want == "") || err != nil && !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", tt.name, err, tt.want)
		}
	}
}

// listening is a farm that notes what it is told and ticks at once.
type listening struct {
	told  []string
	at    time.Time
	round *commission.Baseline
}

func (l *listening) note(words ...string) {
	l.told = append(l.told, strings.Join(words, " "))
	l.at = time.Now()
}

func (l *listening) Order(house, store string, o decide.Order, who controller.Person) error {
	if house != "lower" {
		return errors.New("there is no such house")
	}
	l.note(house, store, o.String(), who.String())
	return nil
}

func (l *listening) OrderOne(house, store, fan string, o decide.Order, who controller.Person) error {
	l.note(house, store, fan, "alone", o.String(), who.String())
	return nil
}

func (l *listening) KeepBaseline(b *commission.Baseline, who controller.Person) error {
	l.round = b
	return nil
}

func (l *listening) Baselines(house string) (whole, begun *commission.Baseline, err error) {
	return nil, l.round, nil
}

func (l *listening) ClearFault(house string, who controller.Person) error {
	l.note(house, "clear", who.String())
	return nil
}

func (l *listening) ExpectLow(house string, low unit.Celsius, who controller.Person) error {
	l.note(house, "low", unit.SI.Setting(low), who.String())
	return nil
}
func (l *listening) Acknowledge(who controller.Person) { l.note("quiet", who.String()) }

func (l *listening) BelieveClock(who controller.Person) error {
	l.note("clock", who.String())
	return nil
}

func (l *listening) View() *controller.View {
	s := &controller.Snapshot{Settings: &config.House{House: house.Settings{Name: "lower"}}, Ticked: l.at, Sentence: "Fans on by hand."}
	s.Look = commission.Look{House: "lower", Smoke: true}
	return &controller.View{Houses: []controller.Shown{{Snapshot: s}}}
}

// serve answers for farm at a socket of the test's.
func serve(t *testing.T, farm hand.Farm) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "s")
	l, err := hand.Listen(path)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		hand.Serve(ctx, l, farm, slog.New(slog.DiscardHandler))
	}()
	t.Cleanup(func() { stop(); <-done })
	return path
}

func TestOrdersReachTheFarm(t *testing.T) {
	farm := &listening{}
	path := serve(t, farm)
	ask := func(r hand.Request) (string, error) {
		a, err := hand.Ask(t.Context(), path, r)
		if err != nil {
			return "", err
		}
		return a.Text, nil
	}
	for _, r := range []hand.Request{
		{Do: hand.Run, House: "lower", Store: "beds", Stage: 2, ForS: 60},
		{Do: hand.Run, House: "lower", Store: "beds", Fan: "west", ForS: 30},
		{Do: hand.Off, House: "lower", ForS: 120},
		{Do: hand.Auto, House: "lower"},
		{Do: hand.Clear, House: "lower"},
	} {
		if text, err := ask(r); err != nil || text != "Fans on by hand." {
			t.Errorf("%+v: %q, %v", r, text, err)
		}
	}
	if text, err := ask(hand.Request{Do: hand.Quiet}); err != nil || !strings.HasPrefix(text, "The bell is silent") {
		t.Errorf("%q, %v", text, err)
	}
	if text, err := ask(hand.Request{Do: hand.Clock}); err != nil || text != "The clock is believed until loambank ends." {
		t.Errorf("%q, %v", text, err)
	}
	if _, err := ask(hand.Request{Do: hand.Auto, House: "upper"}); !errors.Is(err, hand.ErrNo) || !strings.Contains(err.Error(), "no such house") {
		t.Errorf("the farm's refusal came as %v", err)
	}
	for i, want := range []string{"lower beds run at stage 2 for 60 s ", "lower beds west alone run at stage 0 for 30 s ", "lower  off for 120 s ", "lower  auto ", "lower clear ", "quiet ", "clock "} {
		if i >= len(farm.told) || !strings.HasPrefix(farm.told[i], want) || !strings.Contains(farm.told[i], "uid ") {
			t.Errorf("order %d: told %q, want %q and who gave it", i, farm.told, want)
		}
	}
}

// TestWhatIsNoOrderIsRefused writes to the socket what no client of ours would.
func TestWhatIsNoOrderIsRefused(t *testing.T) {
	farm := &listening{}
	path := serve(t, farm)
	for name, text := range map[string]string{
		"no JSON":             "hello\n",
		"another schema":      `{"schema":7,"do":"auto","house":"lower"}`,
		"off for ever":        `{"schema":1,"do":"off","house":"lower","for_s":999999,"long":false}`,
		"a wrong type":        `{"schema":1,"do":"run","house":"lower","for_s":"long"}`,
		"a number too large":  `{"schema":1,"do":"run","house":"lower","for_s":1e300}`,
		"longer than allowed": `{"schema":1,"do":"auto","house":"` + strings.Repeat("x", 600<<10) + `"}`,
	} {
		conn, err := net.Dial("unix", path)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(conn, text); err != nil {
			t.Fatal(err)
		}
		conn.(*net.UnixConn).CloseWrite()
		var a hand.Answer
		if err := json.NewDecoder(conn).Decode(&a); err != nil || a.Error == "" {
			t.Errorf("%s: answered %+v, %v; want an error", name, a, err)
		}
		conn.Close()
	}
	if len(farm.told) != 0 {
		t.Errorf("the farm was told %q", farm.told)
	}
}

func TestNobodyIsThereToAsk(t *testing.T) {
	dir := t.TempDir()
	quiet := hand.Request{Do: hand.Quiet}
	if _, err := hand.Ask(t.Context(), filepath.Join(dir, "none"), quiet); err == nil || !strings.Contains(err.Error(), "no loambank runs") {
		t.Errorf("without a socket: %v", err)
	}
	stale := filepath.Join(dir, "stale")
	l, err := net.Listen("unix", stale)
	if err != nil {
		t.Fatal(err)
	}
	l.(*net.UnixListener).SetUnlinkOnClose(false)
	l.Close()
	if _, err := hand.Ask(t.Context(), stale, quiet); err == nil || !strings.Contains(err.Error(), "no loambank runs") {
		t.Errorf("at the socket of a dead daemon: %v", err)
	}
	again, err := hand.Listen(stale)
	if err != nil {
		t.Fatalf("a dead daemon's socket is in the way: %v", err)
	}
	defer again.Close()
	if info, err := os.Stat(stale); err != nil || info.Mode().Perm() != 0o660 {
		t.Errorf("the socket's mode is %v, %v; want owner and group only", info.Mode(), err)
	}
}

// TestARoundGoesOverTheSocket, of a house with as many probes as there may be.
func TestARoundGoesOverTheSocket(t *testing.T) {
	farm := &listening{}
	path := serve(t, farm)
	ask := func(r hand.Request) *hand.Answer {
		t.Helper()
		a, err := hand.Ask(t.Context(), path, r)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	if a := ask(hand.Request{Do: hand.Look, House: "lower"}); a.Look == nil || !a.Look.Smoke {
		t.Errorf("the look is %+v", a.Look)
	}
	b := commission.Baseline{Schema: 1, House: "lower", Begun: time.Unix(1.8e9, 0).UTC()}
	for i := range house.MaxProbes {
		b.Probes = append(b.Probes, commission.ProbeResult{Probe: strings.Repeat("p", 39) + string(rune('0'+i%10)), Problem: strings.Repeat("x", 200)})
	}
	ask(hand.Request{Do: hand.Round, House: "lower", Round: &b})
	a := ask(hand.Request{Do: hand.Round, House: "lower"})
	if a.Whole != nil {
		t.Errorf("a complete round came: %+v", a.Whole)
	}
	if diff := cmp.Diff(&b, a.Begun); diff != "" {
		t.Errorf("the round as it came back (-sent +kept):\n%s", diff)
	}
	if _, err := hand.Ask(t.Context(), path, hand.Request{Do: hand.Look, House: "upper"}); !errors.Is(err, hand.ErrNo) {
		t.Errorf("a house that is not there: %v", err)
	}
}
