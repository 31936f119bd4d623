package controller

import (
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
	"unsafe"

	"loambank/controller/history"
	"loambank/controller/house"
)

// hands is a clock whose wall time can be set while it runs, as a machine's can.
type hands struct {
	ahead atomic.Int64 // of the bubble's wall time, s
	known atomic.Bool
}

func (h *hands) set() bool { return h.known.Load() }

// now is the bubble's time, moved, with a monotonic reading, which the bubble's own has not. The time
// package keeps such a time as a flag, 33 bits of seconds since 1885 and 30 of nanoseconds, and the
// reading behind; TestHandsMoveTheWallTimeAlone says whether it still does.
func (h *hands) now() time.Time {
	bubble := time.Now().Round(0)
	wall := bubble.Add(time.Duration(h.ahead.Load()) * time.Second)
	since1885 := uint64(wall.Unix() - time.Date(1885, time.January, 1, 0, 0, 0, 0, time.UTC).Unix())
	fields := struct {
		wall uint64
		ext  int64
		loc  *time.Location
	}{1<<63 | since1885<<30 | uint64(wall.Nanosecond()), 1 + bubble.UnixNano() - bubbleBegan, nil}
	return *(*time.Time)(unsafe.Pointer(&fields))
}

// bubbleBegan is when every bubble begins, Unix ns: 2000-01-01 UTC.
const bubbleBegan = 946684800e9

// show sets the wall time.
func (h *hands) show(t time.Time) { h.ahead.Store(t.Unix() - time.Now().Unix()) }

func TestHandsMoveTheWallTimeAlone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var h hands
		h.show(from)
		first := h.now()
		time.Sleep(time.Minute)
		h.show(from.Add(-24 * time.Hour))
		second := h.now()
		if first.Unix() != from.Unix() || second.Unix() != from.Add(-24*time.Hour).Unix() || second.Sub(first) != time.Minute {
			t.Fatalf("it shows %v, then %v, which is %v later", first, second, second.Sub(first))
		}
	})
}

// dayWindow lets no heat up between these hours of the clock.
const dayWindow = `
[[house.window]]
name  = "day"
hours = "08:00..20:00"
allow = ["charge"]
`

// TestTheClockIsSetWhileAFarmRuns sets the wall time forty minutes after the start, and wants run
// time to be what passed, no counter to fall, every decision to be one of its hour, and the journal
// to replay.
func TestTheClockIsSetWhileAFarmRuns(t *testing.T) {
	day := func(y, m, d, hour, minute int) time.Time {
		return time.Date(y, time.Month(m), d, hour, minute, 0, 0, time.UTC)
	}
	none := time.Time{}
	for _, tt := range []struct {
		name        string
		zone        string
		start, show time.Time // UTC; zero show sets nothing
		unset       bool      // nobody has set the time until then
	}{
		{"nothing happens", "UTC", day(2027, 1, 20, 2, 0), none, false},
		{"seconds on", "UTC", day(2027, 1, 20, 2, 0), day(2027, 1, 20, 2, 40).Add(7 * time.Second), false},
		{"seconds back", "UTC", day(2027, 1, 20, 2, 0), day(2027, 1, 20, 2, 39), false},
		{"from night into day", "UTC", day(2027, 1, 20, 2, 0), day(2027, 1, 20, 12, 0), false},
		{"from day back into night", "UTC", day(2027, 1, 20, 12, 0), day(2027, 1, 20, 3, 0), false},
		{"from the first minutes of a day into the day before", "UTC", day(2027, 1, 20, 0, 0), day(2027, 1, 19, 23, 50), false},
		{"years on", "UTC", day(2027, 1, 20, 2, 0), day(2035, 7, 1, 13, 0), false},
		{"years back, before this program was written", "UTC", day(2035, 7, 1, 2, 0), day(2020, 1, 1, 2, 0), false},
		{"years back, no further than the program can have run", "UTC", day(2035, 7, 1, 2, 0), day(2027, 1, 20, 12, 0), false},
		{"from 1970, as a time service answers", "UTC", time.Unix(60, 0), day(2027, 1, 20, 12, 0), true},
		{"into the spring gap", "America/New_York", day(2027, 3, 14, 6, 30), none, false},
		{"into the hour that autumn repeats", "America/New_York", day(2027, 11, 7, 5, 30), none, false},
		{"back over the spring gap", "America/New_York", day(2027, 3, 14, 6, 40), day(2027, 3, 14, 6, 50), false},
		{"over a leap day", "Europe/Rome", day(2028, 2, 28, 22, 40), day(2028, 2, 29, 22, 50), false},
		{"back over a leap day", "Europe/Rome", day(2028, 3, 1, 0, 0), day(2028, 2, 28, 10, 0), false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			g := stake(t, "10 s", "lower")
			g.t = t
			g.keep()
			g.edit(`zone   = "UTC"`, fmt.Sprintf("zone   = %q", tt.zone))
			g.write(g.text + dayWindow)
			synctest.Test(t, func(t *testing.T) {
				h := &hands{}
				h.known.Store(!tt.unset)
				h.show(tt.start)
				g.clock = Clock{hands: h}
				f := g.run(t, nil)
				w := onlooker{t: t, f: f, g: g, h: h}
				pass(5 * time.Second) // to stand between the ticks
				w.ticks(40 * time.Minute)
				w.look() // the tick after which it is set
				if tt.unset {
					h.known.Store(true)
				}
				if !tt.show.IsZero() {
					h.show(tt.show)
				}
				if tt.show.Sub(tt.start) > 31*24*time.Hour {
					w.seen = nil // more than the days for which a journal is kept
				}
				pass(10 * time.Second)
				w.ticks(80 * time.Minute)
				pass(5 * time.Second)
				run := f.View().Houses[0].Account.Stores[0].Fans[0].RunTotalS()
				if d := run - w.onS; d < -10 || d > 10 || run < 20*60 {
					t.Errorf("%v s of run time are counted, its file was on for %v s", run, w.onS)
				}
				if err := f.end(); err != nil {
					t.Fatal(err)
				}
				w.replay()
			})
		})
	}
}

// TestAPersonHasTheClockBelieved sets the time of a board that nobody else sets.
func TestAPersonHasTheClockBelieved(t *testing.T) {
	for _, tt := range []struct {
		name  string
		show  time.Time
		ahead time.Duration // of it, the clock when the farm first ran, believed; 0 is never
		fault string
	}{
		{"once it was set", from, 0, ""},
		{"but not in 1970", time.Unix(60, 0), 0, "the clock shows 1970-01-01 00:01:15, and 2026-01-01 00:00:00 has passed already"},
		{"nor before a time that was believed", from, time.Hour, "has passed already; set it first"},
		{"after it", from, -time.Hour, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			g := stake(t, "10 s", "lower")
			g.t = t
			g.keep()
			synctest.Test(t, func(t *testing.T) {
				h := &hands{}
				g.clock = Clock{hands: h}
				if tt.ahead != 0 {
					h.known.Store(true)
					h.show(tt.show.Add(tt.ahead))
					f := g.run(t, nil)
					pass(time.Minute)
					must(t, f.end())
				}
				h.known.Store(false)
				h.show(tt.show)
				f := g.run(t, nil)
				pass(15 * time.Second)
				if f.View().Believed {
					t.Error("it is believed before anybody says so")
				}
				err := f.BelieveClock(Person{UID: -1})
				if tt.fault == "" && err != nil || tt.fault != "" && (err == nil || !strings.Contains(err.Error(), tt.fault)) {
					t.Errorf("the answer is %v, want %q", err, tt.fault)
				}
				pass(15 * time.Second)
				if got := f.View().Believed; got != (tt.fault == "") {
					t.Errorf("it is believed: %v", got)
				}
				h.show(time.Unix(60, 0))
				if f.View().Believed {
					t.Error("a clock that was set to the past is believed")
				}
				must(t, f.end())
			})
		})
	}
}

// TestAClockThatWasSetStaysBelieved takes the time service away for a day and a half: the kernel then says
// that the clock is not kept, but it runs on from where it was set.
func TestAClockThatWasSetStaysBelieved(t *testing.T) {
	g := stake(t, "10 s", "lower")
	g.t = t
	synctest.Test(t, func(t *testing.T) {
		h := &hands{}
		g.clock = Clock{hands: h}
		h.show(from)
		f := g.run(t, nil)
		pass(time.Minute)
		if f.View().Believed {
			t.Error("it is believed before anybody has set it")
		}
		h.known.Store(true)
		pass(time.Minute)
		h.known.Store(false)
		pass(36 * time.Hour)
		if !f.View().Believed {
			t.Error("it is not believed any more")
		}
		h.show(time.Unix(60, 0))
		pass(time.Minute)
		if f.View().Believed {
			t.Error("it is believed in 1970")
		}
		must(t, f.end())
	})
}

// onlooker looks at a farm after each of its ticks.
type onlooker struct {
	t *testing.T
	f *farm
	g *ground
	h *hands

	onS                 float64
	runS, energy, count float64 // of the first fan, as last shown
	seen                []time.Time
}

// ticks lets the time pass.
func (w *onlooker) ticks(d time.Duration) {
	w.t.Helper()
	for range int(d / (10 * time.Second)) {
		w.look()
		pass(10 * time.Second)
	}
}

// look looks at the tick before.
func (w *onlooker) look() {
	w.t.Helper()
	v := w.f.View().Houses[0]
	w.decided(v.Snapshot)
	if v.Counted != nil {
		fan := v.Counted.Stores[0].Fans[0]
		if fan.RunTotalS() < w.runS || fan.EnergyKWh < w.energy || float64(fan.Starts) < w.count {
			w.t.Errorf("at %v the counters fell: %+v", v.Time, fan)
		}
		w.runS, w.energy, w.count = fan.RunTotalS(), fan.EnergyKWh, float64(fan.Starts)
	}
	w.seen = append(w.seen, v.Time)
	if w.g.holds("lower/east") == "1" {
		w.onS += 10
	}
}

// decided wants the window of the tick to be the one that the wall time asks for, or none where it
// is not believed.
func (w *onlooker) decided(s *Snapshot) {
	w.t.Helper()
	shown := w.h.now()
	if age := shown.Round(0).Sub(s.Time.Round(0)); age < 0 || age > 10*time.Second {
		w.t.Errorf("at %v the last tick is of %v", shown, s.Time)
	}
	want := -1
	if hour := s.Time.Hour(); hour >= 8 && hour < 20 && w.h.set() && s.Time.After(oldest) {
		want = 0
	}
	if got := int(s.Decision.Window); got != want {
		w.t.Errorf("at %v window %d covers, want %d", s.Time, got, want)
	}
}

// replay wants every tick in the journal, in the order in which they came, each decided again alike.
func (w *onlooker) replay() {
	w.t.Helper()
	r, err := history.OpenReader(w.g.state)
	must(w.t, err)
	defer r.Close()
	settings := &w.g.s.Houses[0].House
	var again *house.House
	n, differ := 0, 0
	for e, err := range r.Journal("lower", time.Unix(-1e9, 0), time.Unix(1e10, 0)) {
		must(w.t, err)
		if e.Gap {
			w.t.Errorf("a gap at %v", e.Now)
		}
		if m := e.Mark; m != nil {
			if again == nil || m.Kind != history.Key {
				again = house.Restore(settings, m.Saved)
			}
			continue
		}
		if n < len(w.seen) && !e.Now.Equal(w.seen[n]) {
			w.t.Fatalf("tick %d is of %v, was at %v", n, e.Now, w.seen[n])
		}
		if n++; again == nil && n == 1 {
			continue // the mark before it went with the days before; the next follows it
		} else if again == nil {
			w.t.Fatal("two ticks before the first mark")
		}
		result := again.Tick(e.Seen, settings.Decide.Season.Site.Local(e.Now))
		if history.Digest(&result.Decision) != e.Digest {
			differ++
		}
	}
	if n < len(w.seen) || differ != 0 || r.Damaged() != 0 {
		w.t.Errorf("%d ticks of %d are in the journal, %d decide otherwise, %d rows are damaged", n, len(w.seen), differ, r.Damaged())
	}
}
