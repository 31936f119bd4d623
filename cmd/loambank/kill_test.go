package main

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/ledger"
)

// killFarm is a simulated house and one of files in eternal frost, whose fans run whenever the
// program does. %[1]s is the folder of its files.
const killFarm = `
units  = "si"
zone   = "UTC"
tick   = "10 s"
site   = { latitude = 43.1, longitude = 0, elevation = "150 m" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }

[prices]
currency    = "USD"
electricity = "0.17 $/kWh"
fuel        = { kind = "propane", price = "2.90 $/gal", efficiency = "80 %%" }

[[house]]
name     = "lower"
crop     = "lettuce"
setpoint = "15 °C"
length   = "30 m"
width    = "9 m"
cover    = "double film"
heater   = { setpoint = "14 °C", output = "18 kW" }
probe = [
  { role = "air", place = "crop", name = "air", driver = "model" },
  { role = "humidity", name = "humidity", driver = "model" },
]
  [[house.store]]
  name  = "beds"
  gain  = "0.5 K"
  gain_band = "0.2 K"
  min_rest = "0 s"
  starts_per_hour = 0
  pipes = { count = 12, length = "18 m", spacing = "60 cm", depth = "45 cm" }
  probe = [{ role = "soil", place = "between", depth = "45 cm", name = "deep", driver = "model" }]
  fan   = [{ name = "door", driver = "model", power = "350 W", flow = "3200 m³/h", flow_is = "measured" }]

[[house]]
name     = "upper"
crop     = "lettuce"
setpoint = "6 °C"
frost    = "1.5 °C"
probe = [
  { role = "air", place = "crop", name = "air", driver = "file", path = "%[1]s/air" },
  { role = "outside", name = "outside", driver = "file", path = "%[1]s/nowhere" },
]
  [[house.store]]
  name  = "beds"
  min_rest = "0 s"
  starts_per_hour = 0
  probe = [{ role = "soil", place = "between", depth = "50 cm", name = "deep", driver = "file", path = "%[1]s/deep" }]
  fan = [
    { name = "east", driver = "file", path = "%[1]s/east", power = "300 W", flow = "1800 m³/h", flow_is = "measured" },
    { name = "west", driver = "file", path = "%[1]s/west", power = "300 W", flow = "1800 m³/h", flow_is = "measured" },
  ]
`

const (
	// killSpeed makes five minutes of the clock half a second, a tick 17 ms.
	killSpeed = 600
	// longestLifeS is how long a program lives at most before it is killed, s.
	longestLifeS = 1.2
	// checkpointS is the time between two checkpoints, tickS between two ticks, by the farm's clock.
	checkpointS, tickS = 300, 10
	// savingS is what a checkpoint takes on a busy disk, s of the machine's. Common practice, no source.
	savingS = 0.25
	// longestStart is how long a program may take from its start to its first answer.
	longestStart = time.Second
	// shortRun is how long a run goes on that nobody told how many kills to make.
	shortRun = 20 * time.Second
	// fewestKills are made whatever they take; one in lateOf may come to a late checkpoint.
	fewestKills, lateOf = 16, 16
)

// kills is how often the program is killed at least, and for how long it goes on. LONG_KILLS is in
// twenties, as .ci/long counts.
func kills(t *testing.T) (n int, long time.Duration) {
	t.Helper()
	text := os.Getenv("LONG_KILLS")
	if text == "" {
		return fewestKills, shortRun
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("LONG_KILLS is %q; it is a whole number from 1", text)
	}
	return 20 * n, 0
}

// TestKilledAtAnyTime kills the program itself, as it is built, at random instants, and reads its
// metrics all the time. No counter falls, nothing is lost that was ever shown, what is on disk can
// be read, and `safe` puts the fans off that a kill has left on.
func TestKilledAtAnyTime(t *testing.T) {
	t.Parallel() // it waits more than it computes
	c := newKilled(t)
	least, long := kills(t)
	n, chance := 0, rand.New(rand.NewPCG(20, 26))
	for began := time.Now(); n < least || time.Since(began) < long; n++ {
		c.live(time.Duration(chance.Float64() * longestLifeS * float64(time.Second)))
		c.inspect(n < 25 || n%20 == 0)
		c.safe()
		if t.Failed() {
			t.Fatalf("it was killed %d times", n+1)
		}
	}
	c.settle()
	c.told(n)
	if c.late*lateOf > n {
		t.Errorf("%d of %d kills found the last checkpoint more than its interval old", c.late, n)
	}
	if c.leftOn == 0 || c.scrapes < n || c.rose[`loambank_fan_run_seconds_total{fan="east",house="upper",state="frost",store="beds"}`] < tickS {
		t.Errorf("after %d kills the fans were left on %d times, %d scrapes were answered, the counters rose by %v: nothing is proven",
			n, c.leftOn, c.scrapes, c.rose)
	}
}

// told tells what n kills came to. From the start to the first answer at most longestStart may pass: a
// busy machine lengthens that, so that it is asked of the fastest.
func (c *killed) told(n int) {
	c.t.Helper()
	if len(c.starts) == 0 || len(c.lostS) == 0 {
		c.t.Fatalf("of %d programs %d answered, %d told of a tick", n, len(c.starts), len(c.lostS))
	}
	slices.Sort(c.starts)
	slices.Sort(c.lostS)
	c.t.Logf("%d kills, %d scrapes, %d series; up to the first answer %v (fastest), %v (median), %v at most; lost %.0f s of its clock (median), %.0f s at most, %d over the interval; fans left on %d times",
		n, c.scrapes, len(c.seen), c.starts[0].Round(time.Millisecond), c.starts[len(c.starts)/2].Round(time.Millisecond), c.starts[len(c.starts)-1].Round(time.Millisecond),
		c.lostS[len(c.lostS)/2], c.lostS[len(c.lostS)-1], c.late, c.leftOn)
	if c.starts[0] > longestStart {
		c.t.Errorf("no start answered in %v, the fastest in %v", longestStart, c.starts[0])
	}
}

// killed is a farm whose program is killed again and again.
type killed struct {
	t                      *testing.T
	program, dir, settings string
	state, address         string
	began                  time.Time

	seen    map[string]float64 // every counter as it was last scraped
	rose    map[string]float64 // and the sum of its increases
	scrapes int
	stamp   float64 // of the checkpoint that was last scraped

	ticked       time.Time     // the last tick that this life told of, by its clock; zero is none
	stall        time.Duration // the longest that nobody got an answer in this life
	starts       []time.Duration
	lostS        []float64
	late         int // kills that found the last checkpoint more than its interval old
	leftOn, rows int
}

func newKilled(t *testing.T) *killed {
	t.Helper()
	c := &killed{t: t, dir: t.TempDir(), began: time.Now(), seen: map[string]float64{}, rose: map[string]float64{}}
	c.program, c.settings, c.state = filepath.Join(c.dir, "loambank"), filepath.Join(c.dir, "farm.toml"), filepath.Join(c.dir, "state")
	if text, err := exec.Command("go", "build", "-o", c.program, ".").CombinedOutput(); err != nil {
		t.Fatalf("building the program: %v\n%s", err, text)
	}
	for name, text := range map[string]string{
		"farm.toml": fmt.Sprintf(killFarm, c.dir), "air": "1.0", "deep": "12.0",
	} {
		if err := os.WriteFile(filepath.Join(c.dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0") // an address that is free
	if err != nil {
		t.Fatal(err)
	}
	c.address = l.Addr().String()
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	return c
}

// command is a call of the program.
func (c *killed) command(args ...string) (*exec.Cmd, *strings.Builder) {
	var told strings.Builder
	cmd := exec.Command(c.program, append(args, "--config", c.settings)...)
	cmd.Env = append(os.Environ(), "LOAMBANK_STATE_DIR="+c.state, "LOAMBANK_LISTEN="+c.address)
	cmd.Stdout, cmd.Stderr = &told, &told
	return cmd, &told
}

// live runs the program and kills it after that long, whatever it does then.
func (c *killed) live(long time.Duration) {
	c.t.Helper()
	cmd, told := c.command("run", "--speed", strconv.Itoa(killSpeed))
	began := time.Now()
	if err := cmd.Start(); err != nil {
		c.t.Fatal(err)
	}
	c.ticked, c.stall = time.Time{}, 0
	first, last := true, began
	for n := 0; time.Since(began) < long; n++ {
		if !c.scrape(n%4 == 1) {
			time.Sleep(time.Millisecond) // it does not answer yet
			continue
		}
		if first {
			c.starts, first = append(c.starts, time.Since(began)), false
		} else {
			c.stall = max(c.stall, time.Since(last))
		}
		last = time.Now()
	}
	if err := cmd.Process.Kill(); err != nil {
		c.t.Errorf("it had ended by itself: %v\n%s", err, told)
	}
	if err := cmd.Wait(); err == nil || cmd.ProcessState.Exited() {
		c.t.Errorf("it ended by itself: %v\n%s", err, told)
	}
}

// inspect reads what the kill has left on disk.
func (c *killed) inspect(also bool) {
	c.t.Helper()
	on, notes, err := ledger.Load(c.state)
	none := errors.Is(err, os.ErrNotExist) || err == nil && notes.From == "" && len(notes.Refused) == 0
	if none && len(c.seen) == 0 {
		return // killed before the first checkpoint
	}
	if err != nil || notes.From == "" || len(notes.Refused) > 0 {
		c.t.Errorf("the ledger: %v, %+v", err, notes)
		return
	}
	kept := exposed(on)
	for series, was := range c.seen {
		if now, there := kept[series]; !there || now < was {
			c.t.Errorf("%s was shown as %v, on disk is %v, %v", series, was, now, there)
		}
	}
	if !c.ticked.IsZero() {
		lostS := c.ticked.Sub(time.Unix(on.Unix, 0)).Seconds()
		c.lostS = append(c.lostS, lostS)
		// The next interval begins when a checkpoint is on the disk. What a busy machine takes for
		// that counts killSpeed-fold by this clock, so that one kill alone proves nothing.
		if lostS > checkpointS+tickS+killSpeed*(savingS+c.stall.Seconds()) {
			c.late++
		}
	}
	if also {
		c.read()
	}
}

// read reads all of the history.
func (c *killed) read() {
	c.t.Helper()
	rows, _ := historyOf(c.t, c.state, c.began)
	if rows < c.rows {
		c.t.Errorf("the history held %d rows and holds %d", c.rows, rows)
	}
	c.rows = rows
}

// historyOf reads all of the history of a state directory since a time, which none of it is older
// than: how many rows it has, and when the last tick in its journal was. There may be none yet.
func historyOf(t *testing.T, state string, began time.Time) (rows int, last time.Time) {
	t.Helper()
	r, err := history.OpenReader(state)
	if errors.Is(err, history.ErrNone) {
		return 0, time.Time{}
	}
	if err != nil {
		t.Errorf("the history: %v", err)
		return 0, time.Time{}
	}
	defer r.Close()
	from, to := began.Add(-time.Hour), began.Add(1000*time.Hour)
	for _, house := range r.Houses() {
		for s, err := range r.Samples(house, from, to) {
			if rows++; err != nil || s.At.Before(from) {
				t.Errorf("samples of %s: %v, %v", house, s.At, err)
			}
		}
		for e, err := range r.Journal(house, from, to) {
			if rows++; err != nil || e.Gap && e.Mark == nil {
				t.Errorf("journal of %s: %v, gap %v", house, err, e.Gap)
			}
			if e.Mark == nil && e.Now.After(last) {
				last = e.Now
			}
		}
		for _, err := range r.Decisions(house, from, to) {
			if rows++; err != nil {
				t.Errorf("decisions of %s: %v", house, err)
			}
		}
	}
	if r.Damaged() != 0 {
		t.Errorf("%d rows of the history are damaged", r.Damaged())
	}
	return rows, last
}

// safe puts off what the kill has left on, as the service manager does after each end.
func (c *killed) safe() {
	c.t.Helper()
	holds := func(fan string) string {
		text, err := os.ReadFile(filepath.Join(c.dir, fan))
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			c.t.Fatal(err)
		}
		return string(text)
	}
	if holds("east") == "1" {
		c.leftOn++
	}
	cmd, told := c.command("safe")
	if err := cmd.Run(); err != nil || told.String() != "2 fans off\n" {
		c.t.Errorf("safe says %q, %v", told, err)
	}
	if east, west := holds("east"), holds("west"); east != "0" || west != "0" {
		c.t.Errorf("after safe the fans hold %q and %q", east, west)
	}
}

// settle wants the increases that were scraped to be what the ledger rose by, from nothing. The
// last kill must not come between a checkpoint and its scrape, which takes a few tries.
func (c *killed) settle() {
	c.t.Helper()
	for range 20 {
		c.live(time.Duration(longestLifeS * float64(time.Second)))
		on, _, err := ledger.Load(c.state)
		if err != nil {
			c.t.Fatal(err)
		}
		if float64(on.Unix) != c.stamp {
			continue
		}
		for series, want := range exposed(on) {
			if got := c.rose[series]; math.Abs(got-want) > 1e-6*max(1, want) {
				c.t.Errorf("%s rose by %v where it was scraped, by %v in the ledger", series, got, want)
			}
		}
		return
	}
	c.t.Error("no kill came after a scrape of the last checkpoint in 20 tries")
}
