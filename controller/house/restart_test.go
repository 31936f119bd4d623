package house_test

import (
	"math"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// started is what a running farm remembers at the start after no time down, by the rules: fans
// off, their rest at its beginning, actions dropped.
func started(w *house.Saved) {
	for i := range w.Stores {
		ss := &w.Stores[i]
		ss.Doing, ss.RunS, ss.RestS, ss.Stage, ss.StageS, ss.HeatW = decide.Rest, 0, 0, 0, 0, 0
		ss.Action, ss.ActionRunS, ss.ActionDueS = "", 0, 0
		for j := range ss.Fans {
			ss.Fans[j].Stage, ss.Fans[j].HeldS = 0, 0
		}
	}
}

// stores changes every store of what is saved.
func stores(change func(*house.SavedStore)) func(*house.Saved) {
	return func(w *house.Saved) {
		for i := range w.Stores {
			change(&w.Stores[i])
		}
	}
}

func fans(change func(*house.SavedFan)) func(*house.Saved) {
	return stores(func(ss *house.SavedStore) {
		for j := range ss.Fans {
			change(&ss.Fans[j])
		}
	})
}

// TestRestart starts a farm again that was saved in the middle of charging: 900 s of a hand order
// were left, 400 s until the fans might start again, 50 s until the next try of a bad one; soil
// was lost for 60 s. Each case lists what the time down has moved.
func TestRestart(t *testing.T) {
	tests := []struct {
		name     string
		downS    float64
		believed bool
		want     func(*house.Saved)
	}{
		{"no time down", 0, true, func(*house.Saved) {}},
		{"half a minute down", 30, true, func(w *house.Saved) {
			w.StaggerS, w.HeaterWaitS = 0, 970
			for i := range w.Probes {
				p := &w.Probes[i]
				p.AgeS, p.SilentS, p.StillS = 31, 30, -30
			}
			fans(func(f *house.SavedFan) { f.StartWaitS, f.RetryS = 370, 20 })(w)
			stores(func(ss *house.SavedStore) {
				ss.OrderLeftS, ss.Soil.LostS, ss.Root.Hottest.LostS, ss.Root.Coldest.LostS = 870, 90, 30, 30
			})(w)
		}},
		{"an hour down: orders and waits are over", 3600, true, func(w *house.Saved) {
			w.StaggerS, w.HeaterWaitS = 0, 0
			for i := range w.Probes {
				p := &w.Probes[i]
				p.AgeS, p.SilentS, p.StillS = 3601, 3600, -3600
			}
			fans(func(f *house.SavedFan) { f.StartWaitS, f.RetryS = 0, 0 })(w)
			stores(func(ss *house.SavedStore) {
				ss.Order, ss.OrderStage, ss.OrderLeftS = decide.NoOrder, 0, 0
				ss.Soil.LostS, ss.Root.Hottest.LostS, ss.Root.Coldest.LostS = 3660, 3600, 3600
			})(w)
		}},
		{"a hand order ends at its second", 900, true, func(w *house.Saved) {
			w.StaggerS, w.HeaterWaitS = 0, 100
			for i := range w.Probes {
				p := &w.Probes[i]
				p.AgeS, p.SilentS, p.StillS = 901, 900, -900
			}
			fans(func(f *house.SavedFan) { f.StartWaitS, f.RetryS = 0, 0 })(w)
			stores(func(ss *house.SavedStore) {
				ss.Order, ss.OrderStage, ss.OrderLeftS = decide.NoOrder, 0, 0
				ss.Soil.LostS, ss.Root.Hottest.LostS, ss.Root.Coldest.LostS = 960, 900, 900
			})(w)
		}},
		{"time that is not believed has not passed", 3600, false, func(*house.Saved) {}},
		{"a clock set back", -500, true, func(*house.Saved) {}},
		{"no time at all", math.NaN(), true, func(*house.Saved) {}},
		{"for ever is long, and finite", math.Inf(1), true, func(w *house.Saved) {
			w.StaggerS, w.HeaterWaitS = 0, 0
			for i := range w.Probes {
				p := &w.Probes[i]
				p.AgeS, p.SilentS, p.StillS = 1e9, 1e9, -(1e9 - 1)
			}
			fans(func(f *house.SavedFan) { f.StartWaitS, f.RetryS = 0, 0 })(w)
			stores(func(ss *house.SavedStore) {
				ss.Order, ss.OrderStage, ss.OrderLeftS = decide.NoOrder, 0, 0
				ss.Soil.LostS, ss.Root.Hottest.LostS, ss.Root.Coldest.LostS = 1e9, 1e9, 1e9
			})(w)
		}},
	}
	saved := func(t *testing.T) house.Saved {
		s := running(farm(t, calendar(t)))
		s.StaggerS, s.HeaterWaitS, s.AirLostS, s.Smoke, s.LastUnix = 8, 1000, 300, true, 1768928400
		s.Low = decide.Low{C: 2, Unix: 5, Since: 4, Known: true}
		s.Fired = []house.SavedFiring{{Action: "exercise", Unix: 1768928000}}
		return s
	}
	// How uncertain the soil grows is the carrying's business: judge has its tests.
	ignore := cmpopts.IgnoreFields(judge.Carry{}, "Uncertain")
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			want := saved(t)
			started(&want)
			tt.want(&want)
			got := saved(t).Restarted(tt.downS, tt.believed)
			if diff := gocmp.Diff(want, got, ignore); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if grown := got.Stores[0].Soil.Uncertain; tt.believed && tt.downS > 0 != (grown > 0) {
				t.Errorf("down for %v s the soil is uncertain by %v K", tt.downS, grown)
			}
		})
	}
}

// TestRestBeginsAnew: nobody knows what a fan did while the program was down.
func TestRestBeginsAnew(t *testing.T) {
	saved := house.Saved{Stores: []house.SavedStore{{Name: "beds", StoreState: decide.StoreState{RestS: 200, Doing: decide.Hand}}}}
	if got := saved.Restarted(0, true).Stores[0].StoreState; got != (decide.StoreState{}) {
		t.Errorf("got %+v, want a store whose rest begins", got)
	}
}

// TestAJumpOnTrialStandsWhileTheProgramIsDown has a probe that jumped before the end.
func TestAJumpOnTrialStandsWhileTheProgramIsDown(t *testing.T) {
	trial := judge.Trial{Value: 20, AgeS: 1, N: 2, StoodS: 2, JumpS: 3, Tries: 2}
	saved := house.Saved{Probes: []house.SavedProbe{{Name: "a", State: judge.State{Trial: trial}}}}
	want := judge.Trial{Value: 20, AgeS: 101, N: 2, StoodS: 102, JumpS: 103, Tries: 2}
	if got := saved.Restarted(100, true).Probes[0].Trial; got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	saved.Probes[0].Trial = judge.Trial{}
	if got := saved.Restarted(100, true).Probes[0].Trial; got != (judge.Trial{}) {
		t.Errorf("without a trial got %+v", got)
	}
}

// TestStandingStillNeedsAnEye: a probe that reads the same before and after ten hours without
// anybody looking is not stuck; one that nobody saw move for six hours of looking is.
func TestStandingStillNeedsAnEye(t *testing.T) {
	s := judge.Defaults(judge.Air, judge.Crop, 0)
	saved := house.Saved{Probes: []house.SavedProbe{{Name: "a"}}}
	read := func(stepS float64) judge.Verdict {
		return judge.Probe(&s, &saved.Probes[0].State, judge.Raw{Value: 0, OK: true}, stepS)
	}
	read(0)
	for range 5 {
		for range 60 {
			read(60)
		}
		saved = saved.Restarted(36000, true)
		if v := read(0); v.Quality != judge.Good {
			t.Fatalf("after the time down it is %+v, want good", v)
		}
	}
	for range 61 {
		read(60)
	}
	if v := read(60); v.Cause != judge.Stuck {
		t.Errorf("after more than six hours of looking it is %+v, want stuck", v)
	}
}

// TestTwoRestartsAreOne splits a time down in two.
func TestTwoRestartsAreOne(t *testing.T) {
	s := farm(t, calendar(t))
	near := gocmp.Options{
		cmpopts.EquateApprox(1e-9, 1e-6),
		gocmp.Comparer(func(a, b unit.Kelvin) bool { return math.Abs(float64(a-b)) < 1e-9 }),
	}
	rapid.Check(t, func(t *rapid.T) {
		saved := upset(t, s, rapid.Uint64().Draw(t, "seed"), rapid.IntRange(0, 300).Draw(t, "ticks"))
		a, b := rapid.Float64Range(0, 5000).Draw(t, "a"), rapid.Float64Range(0, 5000).Draw(t, "b")
		once, twice := saved.Restarted(a+b, true), saved.Restarted(a, true).Restarted(b, true)
		if diff := gocmp.Diff(once, twice, near); diff != "" {
			t.Fatalf("(-once +twice):\n%s", diff)
		}
		for i := range once.Stores {
			for _, f := range once.Stores[i].Fans {
				was := saved.Stores[i].Fans
				if k := indexOf(was, f.Name); f.Fault != was[k].Fault || f.Retries != was[k].Retries || f.Stage != 0 {
					t.Fatalf("fan %+v was %+v: faults stay, fans are off", f, was[k])
				}
			}
		}
		if once.Smoke != saved.Smoke {
			t.Fatal("smoke was not kept")
		}
	})
}

func indexOf(fans []house.SavedFan, name string) int {
	for k := range fans {
		if fans[k].Name == name {
			return k
		}
	}
	return -1
}

// TestACrashLoopDoesNotHammerARelay crashes the program at random while the house wants to
// charge, and wants every fan to keep its four starts an hour and its rest of five minutes.
func TestACrashLoopDoesNotHammerARelay(t *testing.T) {
	s := farm(t)
	most, least := 0, math.Inf(1)
	rapid.Check(t, func(t *rapid.T) {
		believed := rapid.Bool().Draw(t, "believed")
		h := house.New(s, house.State{})
		now, last := time.Unix(1768928400, 0), decide.Decision{}
		hot := calm().but("crop a", 25).but("crop b", 25).but("crop c", 25).but("intake", 26)
		startedAt, stoppedAt := map[string]time.Time{}, map[string]time.Time{}
		note := func(d *decide.Decision) {
			for i := range s.Decide.Stores {
				for j, f := range s.Decide.Stores[i].Fans {
					was, is := last.Stores[i].Stages[j] > 0, d.Stores[i].Stages[j] > 0
					if at, ok := startedAt[f.Name]; is && !was {
						if gap := now.Sub(at).Seconds(); ok && gap < 900 {
							t.Fatalf("%s starts %v s after its last start", f.Name, gap)
						} else if ok {
							least = min(least, gap)
						}
						startedAt[f.Name] = now
						most++
					}
					if was && !is {
						stoppedAt[f.Name] = now
					}
				}
			}
			last = *d
		}
		for range rapid.IntRange(400, 800).Draw(t, "ticks") {
			now = now.Add(10 * time.Second)
			d := h.Tick(house.Seen{StepS: 10, Believed: believed, Raw: proven(hot, &last).raw(s)}, now).Decision
			for i := range s.Decide.Stores {
				f := s.Decide.Stores[i].Fans[0].Name
				if at, ok := stoppedAt[f]; ok && d.Stores[i].Running() && !last.Stores[i].Running() && now.Sub(at) < 300*time.Second {
					t.Fatalf("store %d starts %v after it stopped", i, now.Sub(at))
				}
			}
			note(&d)
			if rapid.IntRange(0, 60).Draw(t, "crash") == 0 {
				note(&decide.Decision{})
				downS := rapid.Float64Range(0, 60).Draw(t, "down")
				now = now.Add(time.Duration(downS * float64(time.Second)))
				h = house.Restore(s, throughJSON(t, h.Save().Restarted(downS, believed)))
			}
		}
	})
	if most == 0 || math.IsInf(least, 1) || least > 1500 {
		t.Errorf("%d starts, the closest two %v s apart: too tame to prove anything", most, least)
	}
}

// TestSmokeAndFaultsOutliveARestart ticks after it.
func TestSmokeAndFaultsOutliveARestart(t *testing.T) {
	s := farm(t)
	h := house.New(s, house.State{})
	h.Tick(house.Seen{StepS: 10, Believed: true, Raw: calm().but("smoke a", 1).raw(s)}, noon(t))
	h = house.Restore(s, throughJSON(t, h.Save().Restarted(1e6, true)))
	r := h.Tick(house.Seen{StepS: 10, Believed: true, Raw: calm().raw(s)}, noon(t))
	if !r.Decision.Alarms.Smoke || r.Decision.Stores[0].State != decide.Hold {
		t.Errorf("after a restart the smoke is forgotten: %+v", r.Decision.Stores[0])
	}

	saved := house.New(s, house.State{}).Save()
	saved.Stores[0].Fans[1].Fault, saved.Stores[0].Fans[1].Retries = decide.DoesNotStart, 9
	r = house.Restore(s, saved.Restarted(10, true)).Tick(house.Seen{StepS: 10, Believed: true, Raw: calm().raw(s)}, noon(t))
	if !r.Decision.Alarms.FanFault {
		t.Error("after a restart the fault is forgotten")
	}
}

// TestFansOff puts fans of a running farm off, such as by opening their devices anew.
func TestFansOff(t *testing.T) {
	tests := []struct {
		name  string
		store string
		fans  []string
		want  func(*house.Saved)
	}{
		{"no fan", "beds", nil, func(*house.Saved) {}},
		{"a store that is not there", "bench", []string{"east"}, func(*house.Saved) {}},
		{"a fan of another store", "path", []string{"east"}, func(*house.Saved) {}},
		{"one of two: the run goes on", "beds", []string{"west"}, func(w *house.Saved) {
			w.Stores[0].Fans[1].Stage, w.Stores[0].Fans[1].HeldS = 0, 0
		}},
		{"both: the run has ended", "beds", []string{"west", "east"}, func(w *house.Saved) {
			ss := &w.Stores[0]
			for j := range ss.Fans {
				ss.Fans[j].Stage, ss.Fans[j].HeldS = 0, 0
			}
			ss.Doing, ss.RunS, ss.RestS, ss.Stage, ss.StageS, ss.HeatW = decide.Rest, 0, 0, 0, 0, 0
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			want := running(farm(t, calendar(t)))
			tt.want(&want)
			got := running(farm(t, calendar(t))).FansOff(tt.store, tt.fans...)
			if diff := gocmp.Diff(want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}

	t.Run("a store at rest keeps its rest, and its fan the time since it stopped", func(t *testing.T) {
		saved := house.Saved{Stores: []house.SavedStore{{
			Name: "beds", StoreState: decide.StoreState{RestS: 200},
			Fans: []house.SavedFan{{Name: "east", FanState: decide.FanState{HeldS: 200}}},
		}}}
		if diff := gocmp.Diff(saved, saved.FansOff("beds", "east")); diff != "" {
			t.Errorf("(-want +got):\n%s", diff)
		}
	})
}
