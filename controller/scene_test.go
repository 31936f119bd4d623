package controller

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/decide"
)

// also is every probe that a row may give the lower house besides its air and soil: where it
// belongs, what is written of it, and what it reads while all is well.
var also = map[string]struct{ of, text, well string }{
	"air2":         {"house", `role = "air", place = "crop"`, "3.1"},
	"air3":         {"house", `role = "air", place = "crop"`, "3.2"},
	"intake":       {"house", `role = "air", place = "intake"`, "3.2"},
	"humidity":     {"house", `role = "humidity"`, "0.8"},
	"outside":      {"house", `role = "outside"`, "-5.0"},
	"heater-on":    {"house", `role = "heater-on"`, "0"},
	"vent-open":    {"house", `role = "vent-open"`, "0"},
	"smoke":        {"house", `role = "smoke"`, "0"},
	"on-generator": {"house", `role = "on-generator"`, "0"},
	"radon":        {"house", `role = "radon"`, "80"},
	"co2":          {"house", `role = "co2"`, "900"},
	"light":        {"house", `role = "light"`, "0"},
	"undisturbed":  {"house", `role = "soil", place = "undisturbed", depth = "50 cm"`, "9.0"},
	"root":         {"store", `role = "soil", place = "root", depth = "12 cm"`, "10.0"},
	"deep2":        {"store", `role = "soil", place = "between", depth = "50 cm"`, "12.1"},
	"duct-in":      {"store", `role = "duct-in"`, "3.0"},
	"duct-out":     {"store", `role = "duct-out"`, "8.0"},
	"pipe-water":   {"store", `role = "pipe-water"`, "0"},
	"hand-switch":  {"store", `role = "hand-switch"`, "0"},
	"flow":         {"store", `role = "airflow-proof", fan = "east"`, "0"},
	"power":        {"store", `role = "fan-power", fan = "east"`, "0"},
}

// scene is a farm on its way through a row.
type scene struct {
	*ground
	row           row
	farm          *farm
	devices       map[string]*faulty
	broken        atomic.Bool
	follows       map[string]func(on bool) string // probes that see the fan east
	began         time.Time
	other         []decision
	mayFailToStop bool
}

func newScene(t *testing.T, r row) *scene {
	s := &scene{ground: stake(t, "10 s", "lower", "upper"), row: r, follows: map[string]func(bool) string{}}
	s.hang()
	// The other house starts its fans later, so that it is no chance who starts first.
	lower, upper, _ := strings.Cut(s.text, `name     = "upper"`)
	s.write(lower + `name     = "upper"` + strings.Replace(upper, `min_rest = "5 min"`, `min_rest = "7 min"`, 1))
	s.edit(`elevation = "150 m" }`, `elevation = "150 m", generator_power = "700 W" }`)
	for word := range strings.FieldsSeq(r.with) {
		name, well, stated := strings.Cut(word, "=")
		switch name {
		case "state":
			s.keep()
		case "disk":
			s.keep()
			s.mount()
		case "summer":
			s.clock = Scaled(1, time.Date(2026, time.July, 20, 23, 0, 0, 0, time.UTC))
		case "winter-day":
			s.clock = Scaled(1, time.Date(2026, time.January, 20, 11, 0, 0, 0, time.UTC))
		case "dst":
			s.edit(`zone   = "UTC"`, `zone   = "America/New_York"`)
			s.clock = Scaled(1, time.Date(2026, time.November, 1, 5, 45, 0, 0, time.UTC))
		case "air", "deep":
			s.put("lower/"+name, well)
		default:
			s.add(name, well, stated)
		}
	}
	return s
}

// add gives the lower house another probe.
func (s *scene) add(name, well string, stated bool) {
	a, known := also[name]
	if !known {
		s.ground.t.Fatalf("row %s: there is no probe %q to add", s.row.name, name)
	}
	beside := fmt.Sprintf(`path = "%s/lower/air" }`, s.dir)
	if a.of == "store" {
		beside = fmt.Sprintf(`path = "%s/lower/deep" }`, s.dir)
	}
	s.edit(beside, fmt.Sprintf(`%s, { %s, name = "%s", driver = "file", path = "%s/lower/%s" }`, beside, a.text, name, s.dir, name))
	if !stated {
		well = a.well
	}
	s.put("lower/"+name, well)
	s.follow(name)
}

// follow lets a probe see what the fan east does.
func (s *scene) follow(name string) {
	switch name {
	case "flow":
		s.follows[name] = func(on bool) string { return map[bool]string{true: "1", false: "0"}[on] }
	case "power":
		s.follows[name] = func(on bool) string { return map[bool]string{true: "300", false: "0"}[on] }
	}
}

// begin starts the farm, with every device of the lower house one that can fail.
func (s *scene) begin(clock string) {
	start := from
	if s.clock.speed != 0 {
		start = s.clock.from
	}
	if s.began.IsZero() {
		s.began = time.Now()
	}
	passed := time.Since(s.began)
	switch clock {
	case "":
		s.clock = Scaled(1, start.Add(passed))
	case "year": // a year too late
		s.clock = Scaled(1, start.Add(passed).AddDate(1, 0, 0))
	case "unset": // the bubble's own, which begins in a year before this program
		s.clock = Clock{}
	case "hour": // an hour back
		s.clock = Scaled(1, start.Add(passed-time.Hour))
	default:
		s.t.Fatalf("row %s: no clock is %q", s.row.name, clock)
	}
	s.run()
	s.clock = Clock{speed: 1, from: start}
}

func (s *scene) run() {
	f := &farm{stopped: make(chan error, 1)}
	ctx, stop := context.WithCancel(s.t.Context())
	f.stop = stop
	log := slog.New(&breaking{slog.NewTextHandler(&f.log, nil), "", &s.broken})
	c, err := New(ctx, s.s, Options{Clock: s.clock, Log: log, StateDir: s.state})
	if err != nil {
		s.t.Fatal(err)
	}
	f.Controller = c
	s.devices = map[string]*faulty{}
	lower := c.houses()[0]
	for i, p := range lower.probes {
		d := &faulty{Probe: p.device, name: lower.s.House.Probes[i].Name}
		s.devices[d.name], p.device = d, d
	}
	for i, x := range lower.fans {
		d := &faulty{Fan: x.device, name: lower.s.House.Decide.Stores[0].Fans[i].Name}
		s.devices[d.name], x.device = d, d
	}
	s.farm = f
	go func() { f.stopped <- c.Run(ctx) }()
	pass(5 * time.Second) // between two ticks
}

// pass lets time pass and notes what the other house decides in each tick.
func (s *scene) pass(text string) {
	d, err := time.ParseDuration(text)
	if err != nil {
		s.t.Fatalf("row %s: %v", s.row.name, err)
	}
	for range int(d / (10 * time.Second)) {
		east := s.stage("east") == "1"
		for name, tells := range s.follows {
			s.put("lower/"+name, tells(east))
		}
		n := len(s.other)
		s.put("upper/air", fmt.Sprintf("%.1f", 3+float64(n/6%5)/10)) // its own weather
		pass(10 * time.Second)
		v := s.farm.View()
		upper := v.Houses[len(v.Houses)-1]
		s.other = append(s.other, decision{time.Since(s.began).String(), upper.Decision})
	}
}

// stage is what the file of a fan of the lower house holds, - where there is none.
func (s *scene) stage(fan string) string {
	text, err := os.ReadFile(filepath.Join(s.dir, "lower", fan))
	if err != nil {
		return "-"
	}
	return string(text)
}

// do does one word of a fault.
func (s *scene) do(word string) {
	if name, way, found := strings.Cut(word, "~"); found {
		d := s.devices[name]
		if d == nil {
			s.t.Fatalf("row %s: there is no device %q", s.row.name, name)
		}
		delete(s.follows, name)
		if err := d.fail(way); err != nil {
			s.t.Fatalf("row %s: %v", s.row.name, err)
		}
		return
	}
	if name, text, found := strings.Cut(word, "="); found {
		delete(s.follows, name)
		s.put("lower/"+name, strings.ReplaceAll(text, "_", " "))
		return
	}
	if name, found := strings.CutSuffix(word, "!"); found {
		delete(s.follows, name)
		s.remove("lower/" + name)
		return
	}
	what, how, _ := strings.Cut(word, ":")
	switch what {
	case "wait":
		s.pass(how)
	case "soon": // before the next tick
		pass(2 * time.Second)
	case "hand":
		order := map[string]decide.Order{
			"off": {Kind: decide.OrderOff, ForS: 3600}, "run": {Kind: decide.OrderRun, ForS: 3600}, "auto": {Kind: decide.OrderAuto},
		}[how]
		must(s.t, s.farm.Order("lower", "", order, grower))
	case "clear":
		must(s.t, s.farm.ClearFault("lower", grower))
	case "heal":
		s.follow(how)
	case "break":
		s.broken.Store(true)
	case "folder": // stands where a fan's file was
		s.mayFailToStop = true
		s.remove("lower/" + how)
		s.must(os.Mkdir(filepath.Join(s.dir, "lower", how), 0o755))
	case "unfold":
		s.mayFailToStop = false
		s.remove("lower/" + how)
	default:
		s.shell(what, how)
	}
}

// shell does what a fault does to the program around the houses.
func (s *scene) shell(what, how string) {
	switch what {
	case "stop":
		must(s.t, s.farm.end())
	case "start":
		s.begin(how)
	case "reload":
		switch how {
		case "": // nothing changed
			must(s.t, s.farm.Reload(s.s))
		case "faulty":
			s.farm.KeptOld()
		case "margin":
			must(s.t, s.farm.Reload(s.change(`margin = "4 K"`, `margin = "5 K"`)))
		case "lost-air": // another path, where nothing is
			must(s.t, s.farm.Reload(s.change(s.dir+"/lower/air\"", s.dir+"/lower/moved\"")))
		case "lost-fan":
			must(s.t, s.farm.Reload(s.change(s.dir+"/lower/east\"", s.dir+"/lower/box/east\"")))
		case "no-west": // out of the settings
			at := strings.Index(s.text, `    { name = "west"`)
			end := at + strings.Index(s.text[at:], "\n") + 1
			must(s.t, s.farm.Reload(s.change(s.text[at:end], "")))
		default:
			s.t.Fatalf("row %s: no reload is %q", s.row.name, how)
		}
	case "damage":
		s.must(os.WriteFile(filepath.Join(s.state, how), []byte("torn"), 0o644))
	case "lose": // the state directory
		s.mayFailToStop = true
		s.must(os.RemoveAll(s.state))
	case "block":
		s.must(os.MkdirAll(filepath.Join(s.state, ".ledger.link", "x"), 0o755))
	case "unblock":
		s.must(os.RemoveAll(filepath.Join(s.state, ".ledger.link")))
	case "fill", "crowd", "seal":
		s.mayFailToStop = true
		s.obstacle(what).put(s.ground)
	case "empty", "thin", "unseal":
		s.mayFailToStop = false
		s.obstacle(what).take(s.ground)
	default:
		s.t.Fatalf("row %s: nobody knows how to do %q", s.row.name, what)
	}
}

// obstacle is what a word puts in the way of the state directory, or takes away.
func (s *scene) obstacle(word string) obstacle {
	s.t.Helper()
	name := map[string]string{
		"fill": "the disk is full", "empty": "the disk is full",
		"crowd": "the disk has no inodes left", "thin": "the disk has no inodes left",
		"seal": "the disk turns read-only", "unseal": "the disk turns read-only",
	}[word]
	all := obstacles()
	k := slices.IndexFunc(all, func(o obstacle) bool { return o.name == name })
	if k < 0 {
		s.t.Fatalf("row %s: no obstacle is %q", s.row.name, name)
	}
	return all[k]
}

// change puts other words in the lower house's place of the settings; the upper house keeps its own.
func (s *scene) change(old, now string) *config.Settings {
	s.t.Helper()
	if !strings.Contains(s.text, old) {
		s.t.Fatalf("row %s: the settings do not hold %q", s.row.name, old)
	}
	s.write(strings.Replace(s.text, old, now, 1))
	return s.s
}

// free lets what hangs come back, so that the farm can stop.
func (s *scene) free() {
	for _, d := range s.devices {
		if err := d.fail("work"); err != nil {
			s.t.Error(err)
		}
	}
}
