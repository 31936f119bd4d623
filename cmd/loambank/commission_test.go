package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/commission"
	"loambank/controller/commission/shelf"
	"loambank/controller/hand"
	"loambank/controller/judge"
	"loambank/controller/season"
)

// hollow is an invented farm whose devices are files. %[1]s is their folder.
const hollow = `
units  = "us"
zone   = "UTC"
tick   = "1 s"
site   = { latitude = 43.1, longitude = 0, elevation = "150 m" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }
[[house]]
name     = "lower"
crop     = "none"
setpoint = "42 °F"
probe = [
  { role = "air", place = "crop", name = "air", driver = "file", path = "%[1]s/air" },
  { role = "smoke", name = "smoke", driver = "file", path = "%[1]s/smoke" },
]
  [[house.store]]
  name  = "beds"
  probe = [{ role = "soil", place = "between", name = "deep", depth = "20 in", driver = "file", path = "%[1]s/deep" }]
  fan   = [
    { name = "east", driver = "file", path = "%[1]s/east", power = "300 W", flow = "1000 cfm", flow_is = "measured" },
    { name = "west", driver = "file", path = "%[1]s/west", power = "300 W", flow = "1000 cfm", flow_is = "measured" },
  ]
`

// grower reads what a command writes, and does and types what is due then.
type grower struct {
	t     *testing.T
	types io.Writer
	due   []due
	read  strings.Builder
	at    int // up to where it was read
}

// due is what a grower does once some words are written.
type due struct {
	words string
	do    func()
	types string // with a line's end; empty is nothing
}

func (g *grower) Write(p []byte) (int, error) {
	g.read.Write(p)
	for len(g.due) > 0 {
		i := strings.Index(g.read.String()[g.at:], g.due[0].words)
		if i < 0 {
			break
		}
		now := g.due[0]
		g.at += i + len(now.words)
		g.due = g.due[1:]
		if now.do != nil {
			now.do()
		}
		if now.types != "" {
			if _, err := io.WriteString(g.types, now.types); err != nil {
				g.t.Error(err)
			}
		}
	}
	return len(p), nil
}

// yard is a running farm for a test.
type yard struct {
	t           *testing.T
	dir, config string
}

func openYard(t *testing.T) *yard {
	t.Helper()
	y := &yard{t: t, dir: t.TempDir()}
	t.Setenv("LOAMBANK_STATE_DIR", filepath.Join(y.dir, "state"))
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv("LOAMBANK_LISTEN", l.Addr().String())
	l.Close()
	y.config = filepath.Join(y.dir, "farm.toml")
	y.put("farm.toml", fmt.Sprintf(hollow, y.dir))
	y.put("air", "12.0")
	y.put("deep", "12.0")
	y.put("smoke", "0")
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan struct{})
	var log bytes.Buffer
	go func() {
		defer close(ended)
		run(ctx, []string{"run", "--config", y.config, "--speed", "10"}, &log, &log)
	}()
	t.Cleanup(func() {
		stop()
		<-ended
		if t.Failed() {
			t.Log(log.String())
		}
	})
	for range 500 {
		if _, err := hand.Ask(t.Context(), y.socket(), hand.Request{Do: hand.Look, House: "lower"}); err == nil {
			return y
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatal("the farm does not come")
	return nil
}

func (y *yard) socket() string { return hand.SocketPath(filepath.Join(y.dir, "state")) }

func (y *yard) put(name, text string) {
	y.t.Helper()
	if err := os.WriteFile(filepath.Join(y.dir, name), []byte(text), 0o600); err != nil {
		y.t.Fatal(err)
	}
}

func (y *yard) holds(name string) string {
	y.t.Helper()
	text, err := os.ReadFile(filepath.Join(y.dir, name))
	if err != nil {
		y.t.Fatal(err)
	}
	return strings.TrimSpace(string(text))
}

// commission runs the command with a grower at it.
func (y *yard) commission(ctx context.Context, c commissionCommand, dues ...due) (*grower, error) {
	y.t.Helper()
	in, types := io.Pipe()
	defer types.Close()
	g := &grower{t: y.t, types: types, due: dues}
	c.Config, c.Settle = y.config, max(c.Settle, time.Second)
	err := c.Run(&world{ctx: ctx, stdin: in, stdout: g, stderr: g, environ: os.Environ()})
	if len(g.due) > 0 {
		y.t.Errorf("%q was never written, but %s", g.due[0].words, g.read.String())
	}
	return g, err
}

// TestACommissioningRoundAgainstARunningFarm trips a real interlock and pulls real probes, which are files.
func TestACommissioningRoundAgainstARunningFarm(t *testing.T) {
	y := openYard(t)
	alone := func() {
		if e, w := y.holds("east"), y.holds("west"); e != "1" || w != "0" {
			t.Errorf("while east is asked about, east holds %s and west %s", e, w)
		}
	}
	pull := func(name string) func() { return func() { os.Remove(filepath.Join(y.dir, name)) } }
	plug := func(name string) func() { return func() { y.put(name, "12.0") } }
	g, err := y.commission(t.Context(), commissionCommand{House: "lower"},
		due{"Enter begins", nil, "\n"},
		due{"fan east of beds.", nil, ""}, due{"runs it alone", nil, "\n"},
		due{"the right way?", alone, "y\n"}, due{"Airflow", alone, "650 650 fpm in 14 in\n"}, due{"That is 695 cfm", nil, ""},
		due{"fan west of beds.", nil, ""}, due{"runs it alone", nil, "\n"},
		due{"the right way?", nil, "y\n"}, due{"Airflow", nil, "\n"},
		due{"smoke (smoke)", nil, ""}, due{"Enter runs the fans", nil, "\n"},
		due{"test button", func() { y.put("smoke", "1") }, ""},
		due{"Seen: the fans are off", func() {
			if y.holds("east") != "0" || y.holds("west") != "0" {
				t.Error("it is said to have been seen, and a fan runs")
			}
		}, ""},
		due{"Let go", func() { y.put("smoke", "0") }, ""}, due{"clears the smoke", nil, "\n"},
		due{"probe air", nil, ""}, due{"pull its plug", nil, "\n"}, due{"pull the plug", pull("air"), ""}, due{"Plug it back", plug("air"), ""},
		due{"probe deep", nil, ""}, due{"pull its plug", nil, "\n"}, due{"pull the plug", pull("deep"), ""}, due{"Plug it back", plug("deep"), ""},
		due{"5 passed, 0 failed, 0 skipped", nil, ""},
	)
	if err != nil {
		t.Fatalf("%v\n%s", err, g.read.String())
	}
	for line := range strings.Lines(g.read.String()) {
		if n := len([]rune(strings.TrimRight(line, "\n"))); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	b, begun, err := shelf.Newest(filepath.Join(y.dir, "state"), "lower")
	if err != nil || begun != nil || b == nil || b.Count(commission.Passed) != 5 {
		t.Fatalf("kept is %+v and %+v, %v", b, begun, err)
	}
	// 650 ft/min through a duct of 14 in: 3.302 m/s × 0.0993147 m², by hand.
	if f := b.Fans[0]; f.FlowM3s == nil || *f.FlowM3s < 0.3279 || *f.FlowM3s > 0.3280 {
		t.Errorf("the airflow kept is %v", f.FlowM3s)
	}
	if lag := b.Interlocks[0].LagS; lag == nil || *lag > 2 {
		t.Errorf("the fans stopped %v s after the smoke was read, want 2 at most", lag)
	}
	show := commissionCommand{House: "lower", Show: true, JSON: true, Config: y.config, Settle: time.Second}
	var out bytes.Buffer
	var shown shownBaseline
	for range 100 { // it is shown from the next tick on
		out.Reset()
		if err := show.Run(&world{ctx: t.Context(), stdin: strings.NewReader(""), stdout: &out, stderr: io.Discard, environ: os.Environ()}); err != nil {
			t.Fatal(err)
		}
		if json.Unmarshal(out.Bytes(), &shown) == nil && shown.Baseline != nil {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if err := json.Unmarshal(out.Bytes(), &shown); err != nil || shown.Schema != 1 || shown.Baseline == nil || shown.Baseline.By != b.By {
		t.Errorf("shown is %s, %v", out.String(), err)
	}
}

// TestARoundThatBreaksOffGivesTheFansBack by Ctrl-C, and by a terminal that is gone.
func TestARoundThatBreaksOffGivesTheFansBack(t *testing.T) {
	y := openYard(t)
	auto := func(what string) {
		t.Helper()
		for range 250 {
			if y.holds("east") == "0" {
				return
			}
			time.Sleep(20 * time.Millisecond)
		}
		t.Errorf("%s: east holds %s", what, y.holds("east"))
	}
	begin := []due{{"Enter begins", nil, "\n"}, {"runs it alone", nil, "\n"}}
	ctx, interrupt := context.WithCancel(t.Context())
	_, err := y.commission(ctx, commissionCommand{House: "lower"}, append(begin, due{"the right way?", interrupt, ""}, due{"Broken off; every fan", nil, ""})...)
	if !errors.As(err, new(answerNo)) {
		t.Errorf("after Ctrl-C: %v", err)
	}
	auto("after Ctrl-C")

	in, types := io.Pipe()
	g := &grower{t: t, types: types, due: append(begin, due{"the right way?", func() { types.Close() }, ""}, due{"Nobody answers any more", nil, ""})}
	c := commissionCommand{House: "lower", Config: y.config, Settle: time.Second}
	if err := c.Run(&world{ctx: t.Context(), stdin: in, stdout: g, stderr: g, environ: os.Environ()}); !errors.As(err, new(answerNo)) {
		t.Errorf("after the terminal is gone: %v", err)
	}
	auto("after the terminal is gone")
}

// TestTheReportTellsOfTheLastRound before there is one, in its season, and in the next.
func TestTheReportTellsOfTheLastRound(t *testing.T) {
	s := &config.Settings{StateDir: t.TempDir()}
	s.Site.Zone, s.Turn.ToppingUp = time.UTC, season.MonthDay{Month: time.September, Day: 10}
	at := time.Date(2025, time.November, 14, 9, 0, 0, 0, time.UTC)
	told := func(now time.Time) string { return commissionedWords(s, "lower", now) }
	if got := told(at); !strings.Contains(got, "never commissioned") {
		t.Errorf("it tells %q", got)
	}
	b := &commission.Baseline{Schema: 1, House: "lower", Begun: at, Finished: at, Probes: []commission.ProbeResult{{Verdict: commission.Passed}, {Verdict: commission.Skipped}}}
	if err := shelf.Save(s.StateDir, b); err != nil {
		t.Fatal(err)
	}
	const said = "House lower was commissioned on 14 November 2025: 1 passed, 0 failed, 1 skipped."
	if got := told(time.Date(2026, time.September, 9, 23, 59, 0, 0, time.UTC)); got != said {
		t.Errorf("in its season it tells %q", got)
	}
	if got := told(time.Date(2026, time.September, 10, 0, 0, 0, 0, time.UTC)); got != said+" The season has turned since: commission it again." {
		t.Errorf("in the next it tells %q", got)
	}
	path, err := filepath.Glob(filepath.Join(s.StateDir, "commission", "*"))
	if err != nil || len(path) != 1 {
		t.Fatal(path, err)
	}
	if err := os.WriteFile(path[0], []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := told(at); !strings.Contains(got, "cannot be read") {
		t.Errorf("of a damaged one it tells %q", got)
	}
}

// TestABaselineAsItIsWritten, for a person and for a program.
func TestABaselineAsItIsWritten(t *testing.T) {
	number := func(v float64) *float64 { return &v }
	at := time.Date(2025, time.November, 14, 9, 0, 0, 0, time.UTC)
	b := &commission.Baseline{
		Schema: 1, House: "lower", Begun: at, Finished: at.Add(time.Hour), By: "anna",
		Fans: []commission.FanResult{
			{
				Store: "beds", Fan: "east", Stage: 2, Full: true, Verdict: commission.Passed, Direction: "right", FlowM3s: number(0.325), Readings: "640 655 fpm in 14 in",
				PowerW: number(480), DuctInC: number(18), DuctOutC: number(14.5),
			},
			{Store: "beds", Fan: "east", Stage: 1, Verdict: commission.Skipped},
			{Store: "beds", Fan: "west", Stage: 1, Full: true, Verdict: commission.Failed, Problem: "the air goes the wrong way. Lock out the disconnect, and have an electrician turn the fan or change its wiring.", Direction: "wrong", PowerW: number(300)},
		},
		Stores:     []commission.StoreResult{{Store: "beds", Learned: commission.Flow{M3s: 0.6, SE: 0.05}}},
		Interlocks: []commission.InterlockResult{{Probe: "smoke", Role: judge.Smoke, Verdict: commission.Passed, LagS: number(0.5)}},
		Probes:     []commission.ProbeResult{{Probe: "deep", Store: "beds", Role: judge.Soil, Verdict: commission.Passed, LostS: number(17)}},
	}
	look := &commission.Look{House: "lower", Stores: []commission.StoreLook{{
		Name: "beds", Learned: &commission.Flow{M3s: 0.45, SE: 0.03},
		Fans: []commission.FanLook{{Name: "east", Stage: 2, Stages: 2, Obeys: true, PowerW: number(384)}, {Name: "west", Stages: 1, Obeys: true}},
	}}}
	for _, as := range []struct {
		name string
		json bool
	}{{"commission.txt", false}, {"commission.json", true}} {
		toldAs(t, as.name, func(w io.Writer) error {
			c := &commissioned{w: &world{stdout: w}, talk: w, house: "lower", display: unit.US, zone: time.UTC}
			return c.show(&hand.Answer{Whole: b}, look, as.json)
		})
	}
}
