package controller

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/drivers"
)

// tables is an invented house of unheated lettuce: one store, one air and one soil probe, fans
// east and west. %[1]s is its folder, %[2]s its name.
const tables = `
[[house]]
name     = "%[2]s"
crop     = "lettuce"
setpoint = "6 °C"
frost    = "1.5 °C"
length   = "30 m"
width    = "8 m"
cover    = "single film"
probe = [{ role = "air", place = "crop", name = "air", driver = "file", path = "%[1]s/air" }]
  [[house.store]]
  name   = "beds"
  margin = "4 K"
  gain   = "3 K"
  soil_floor = "3 °C"
  min_rest = "5 min"
  probe = [{ role = "soil", place = "between", name = "deep", depth = "50 cm", driver = "file", path = "%[1]s/deep" }]
  fan = [
    { name = "east", driver = "file", path = "%[1]s/east", power = "300 W", flow = "1800 m³/h", flow_is = "measured" },
    { name = "west", driver = "file", path = "%[1]s/west", power = "300 W", flow = "1800 m³/h", flow_is = "measured" },
  ]
`

// site comes before the houses. %[1]s is the tick.
const site = `
units  = "si"
zone   = "UTC"
tick   = "%[1]s"
site   = { latitude = 43.1, longitude = 0, elevation = "150 m" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }
`

// ground is a farm's files in a folder of the test's, one folder a house.
type ground struct {
	t     *testing.T
	dir   string
	state string // state directory; empty keeps nothing
	text  string // of the settings file
	s     *config.Settings
	clock Clock // of the next run; the zero value starts at from, as fast as the bubble's
}

// stake makes a farm of such houses, with a cold night in their probe files: 3 °C of air over
// 12 °C of soil, at which the fans bring heat up for the crop after their minimum rest.
func stake(t *testing.T, tick string, houses ...string) *ground {
	t.Helper()
	g := &ground{t: t, dir: t.TempDir()}
	text := fmt.Sprintf(site, tick)
	for _, name := range houses {
		dir := filepath.Join(g.dir, name)
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		text += fmt.Sprintf(tables, dir, name)
		g.put(name+"/air", "3.0")
		g.put(name+"/deep", "12.0")
	}
	g.write(text)
	return g
}

// write makes text the settings of the farm.
func (g *ground) write(text string) {
	g.t.Helper()
	s, err := config.Parse("farm.toml", []byte(text), nil)
	if err != nil {
		g.t.Fatal(err)
	}
	g.text, g.s = text, s
}

// edit puts other words in the place of old ones in the settings, and returns what they say now.
func (g *ground) edit(old, now string) *config.Settings {
	g.t.Helper()
	if !strings.Contains(g.text, old) {
		g.t.Fatalf("the settings do not hold %q", old)
	}
	g.write(strings.ReplaceAll(g.text, old, now))
	return g.s
}

// contact gives every house, or its store, a contact of that role, which is off.
func (g *ground) contact(role string) {
	g.t.Helper()
	for i := range g.s.Houses {
		name := g.s.Houses[i].House.Name
		g.put(name+"/"+role, "0")
		path := filepath.Join(g.dir, name)
		beside := fmt.Sprintf(`path = "%s/air" }`, path)
		if role == "pipe-water" { // it is a store's
			beside = fmt.Sprintf(`path = "%s/deep" }`, path)
		}
		g.edit(beside, fmt.Sprintf(`%s, { role = "%s", name = "%s", driver = "file", path = "%s/%s" }`, beside, role, role, path, role))
	}
}

// keep gives the farm a state directory.
func (g *ground) keep() {
	g.state = filepath.Join(g.t.TempDir(), "state")
}

func (g *ground) put(name, text string) {
	g.t.Helper()
	if err := os.WriteFile(filepath.Join(g.dir, name), []byte(text), 0o644); err != nil {
		g.t.Fatal(err)
	}
}

func (g *ground) remove(name string) {
	g.t.Helper()
	if err := os.Remove(filepath.Join(g.dir, name)); err != nil {
		g.t.Fatal(err)
	}
}

// holds is what a file holds.
func (g *ground) holds(name string) string {
	g.t.Helper()
	text, err := os.ReadFile(filepath.Join(g.dir, name))
	if err != nil {
		g.t.Fatal(err)
	}
	return strings.TrimSpace(string(text))
}

// farm is a running controller.
type farm struct {
	*Controller
	log     lines
	stop    context.CancelFunc
	stopped chan error
}

// run starts the farm at from with a believed clock as fast as the bubble's. change is made to
// the houses after their devices were opened, before they tick.
func (g *ground) run(t *testing.T, change func(c *Controller)) *farm {
	t.Helper()
	f := &farm{stopped: make(chan error, 1)}
	var ctx context.Context
	ctx, f.stop = context.WithCancel(t.Context())
	log := slog.New(slog.NewTextHandler(&f.log, nil))
	clock := g.clock
	if clock == (Clock{}) {
		clock = Scaled(1, from)
	}
	c, err := New(ctx, g.s, Options{Clock: clock, Log: log, StateDir: g.state})
	if err != nil {
		t.Fatal(err)
	}
	f.Controller = c
	if change != nil {
		change(c)
	}
	go func() { f.stopped <- c.Run(ctx) }()
	return f
}

// Snapshots returns the latest of every house that has ticked.
func (f *farm) Snapshots() []*Snapshot {
	var all []*Snapshot
	for _, h := range f.View().Houses {
		all = append(all, h.Snapshot)
	}
	return all
}

// houses are the runners of a farm.
func (c *Controller) houses() []*runner { return *c.runners.Load() }

// end stops the farm and returns what Run said.
func (f *farm) end() error {
	f.stop()
	return <-f.stopped
}

// lines is a log that can be read while it is written.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

// with counts the lines that have all of these words.
func (l *lines) with(words ...string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	n := 0
next:
	for line := range strings.Lines(l.b.String()) {
		for _, w := range words {
			if !strings.Contains(line, w) {
				continue next
			}
		}
		n++
	}
	return n
}

// pass lets time pass, and then what falls due at its end be done.
func pass(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}

// sticky is a probe that reads 3 °C at once, or while it sticks not at all, whatever its context.
type sticky struct {
	drivers.Probe
	mu   sync.Mutex
	hold chan struct{} // nil while it does not stick
	at   []time.Time   // of each call
}

func (p *sticky) Read(context.Context) (float64, error) {
	p.mu.Lock()
	p.at = append(p.at, time.Now())
	hold := p.hold
	p.mu.Unlock()
	if hold != nil {
		<-hold
	}
	return 3, nil
}

// calls returns when it was read.
func (p *sticky) calls() []time.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.at)
}

// stick makes the next reading hang, until free.
func (p *sticky) stick() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.hold = make(chan struct{})
}

func (p *sticky) free() {
	p.mu.Lock()
	defer p.mu.Unlock()
	close(p.hold)
	p.hold = nil
}

// swap puts a sticky probe in the place of the first house's probe.
func swap(c *Controller, probe int) *sticky {
	p := c.houses()[0].probes[probe]
	s := &sticky{Probe: p.device}
	p.device = s
	return s
}

// grower is who gives orders in tests.
var grower = Person{UID: 1000, Name: "grower"}
