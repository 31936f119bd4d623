package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
)

func TestMinimumRest(t *testing.T) {
	after := func(restS float64) func(*decide.State) {
		return func(st *decide.State) { st.Stores[0].RestS = restS - 10 }
	}
	wait := decide.WaitRest
	edges(t, []edge{
		{name: "charging waits short of it", before: after(299), air: 20, soil: 12, state: decide.Rest, code: wait, have: 299, need: 300},
		{name: "charging starts at its end", before: after(300), air: 20, soil: 12, state: decide.Charge, code: decide.ChargePays},
		{name: "discharging waits", before: after(299), now: night(t), air: 4, soil: 12, state: decide.Rest, code: wait, have: 299, need: 300},
		{name: "drying waits", before: after(299), air: 15, soil: 12, with: damp(0.95, 2), state: decide.Rest, code: wait, have: 299, need: 300},
		{name: "a person does not", before: after(1), air: 20, soil: 12, with: order(decide.OrderRun, 0, 60), state: decide.Charge, code: decide.HandRun, have: 60},
	})
}

func TestRestBeginsWhenTheLastFanStops(t *testing.T) {
	y := begin(t, farm(t, one, cheap), noon(t))
	y.pass(time.Hour, seen(20, 12))
	y.pass(0, seen(13, 12))
	y.want("it stops", decide.Rest, decide.MarginUnmet)
	if rest := y.st.Stores[0].RestS; rest != 0 {
		t.Errorf("rest begins at %v s", rest)
	}
	if run := y.st.Stores[0].RunS; run != 0 {
		t.Errorf("run time at rest is %v s", run)
	}
	y.pass(5*time.Minute-10*time.Second, seen(20, 12))
	y.want("before five minutes are over", decide.Rest, decide.WaitRest)
	y.pass(0, seen(20, 12))
	if d := y.d.Stores[0].Reason; d.Code == decide.WaitRest {
		t.Errorf("after five minutes it still rests: %+v", d)
	}
}

// After a start every fan is off and its rest begins at 0.
func TestTheFirstTickRests(t *testing.T) {
	y := &story{t: t, s: farm(t, one, cheap), now: noon(t)}
	y.pass(0, seen(20, 12))
	y.want("power back", decide.Rest, decide.WaitRest)
	if r := y.d.Stores[0].Reason; r.Have != 10 {
		t.Errorf("rested %v s, want 10", r.Have)
	}
}

// Readings that flap as fast as minimum run and rest let them must not start a fan more than its
// four times in any hour.
func TestStartsPerHour(t *testing.T) {
	quick := func(s *decide.Settings) { s.Stores[0].MinRunS, s.Stores[0].MinRestS = 0, 0 }
	y := begin(t, farm(t, one, cheap, quick), noon(t))
	var starts []time.Time
	waited := false
	for k := range 6 * 360 {
		in := seen(20, 12)
		if k%2 == 1 {
			in = seen(12, 12)
		}
		was := y.d.Stores[0].Running()
		y.pass(0, in)
		if y.d.Stores[0].Running() && !was {
			starts = append(starts, y.now)
		}
		waited = waited || y.d.Stores[0].Reason.Code == decide.WaitStarts
	}
	if !waited {
		t.Error("it never had to wait")
	}
	for i := range starts {
		if i >= 4 && starts[i].Sub(starts[i-4]) < time.Hour {
			t.Errorf("five starts within %v", starts[i].Sub(starts[i-4]))
		}
	}
	if len(starts) < 22 {
		t.Errorf("%d starts in six hours, four an hour are allowed", len(starts))
	}
}

func TestStartsPerHourEdges(t *testing.T) {
	left := func(s float64) func(*decide.State) {
		return func(st *decide.State) { st.Stores[0].Fans[0].StartWaitS = s + 10 }
	}
	unlimited := func(s *decide.Settings) { s.Stores[0].StartsPerHour = 0 }
	edges(t, []edge{
		{name: "it waits to the last second", before: left(1), air: 20, soil: 12, state: decide.Rest, code: decide.WaitStarts, have: 1},
		{name: "then it starts", before: left(0), air: 20, soil: 12, state: decide.Charge, code: decide.ChargePays},
	})
	for _, c := range []struct {
		name   string
		change func(*decide.Settings)
		want   float64
	}{
		{"four an hour are 900 s from start to start", nil, 900},
		{"no limit is no wait", unlimited, 0},
	} {
		e := edge{change: c.change, air: 20, soil: 12}
		if _, st := e.decide(t); st.Stores[0].Fans[0].StartWaitS != c.want {
			t.Errorf("%s: %v", c.name, st.Stores[0].Fans[0].StartWaitS)
		}
	}
}

// manyFans gives each store n equal fans of 600 W.
func manyFans(n int) func(*decide.Settings) {
	return func(s *decide.Settings) {
		for i := range s.Stores {
			s.Stores[i].Fans = nil
			for range n {
				s.Stores[i].Fans = append(s.Stores[i].Fans, decide.Fan{PowerW: 600, FlowM3s: 0.6, Levels: []float64{1}})
			}
		}
	}
}

// on counts the fans that run.
func on(d *decide.Decision) (n int) {
	for i := range d.Stores {
		for _, stage := range d.Stores[i].Stages {
			if stage > 0 {
				n++
			}
		}
	}
	return n
}

func TestStagger(t *testing.T) {
	for _, c := range []struct {
		name  string
		stepS float64
		want  []int // fans on after each tick, seven seconds of stagger
	}{
		{"ticks longer than the stagger start one each", 10, []int{1, 2, 3, 4, 4}},
		{"shorter ticks wait", 3, []int{1, 1, 1, 2, 2, 2, 3, 3, 3, 4}},
		{"a tick of just the stagger starts one each", 7, []int{1, 2, 3, 4}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := farm(t, cheap, manyFans(2), func(s *decide.Settings) { s.StaggerS, s.HouseLossWK = 7, 0 })
			var st decide.State
			rested(&st)
			now, in := noon(t), seen(20, 12)
			in.StepS = c.stepS
			for k, want := range c.want {
				var d decide.Decision
				d, st = decide.Step(s, st, in, now)
				if got := on(&d); got != want {
					t.Fatalf("tick %d: %d fans on, want %d", k, got, want)
				}
				if wait := want < 4; wait != (d.AgainS > 0) || d.AgainS > 7 {
					t.Errorf("tick %d: asks again in %v s", k, d.AgainS)
				}
			}
		})
	}
}

func TestStaggerHoldsForFrostAndHand(t *testing.T) {
	busy := func(st *decide.State) { st.StaggerS = 12.5 }
	e := edge{before: busy, air: 1, soil: 12}
	d, st := e.decide(t)
	if r := d.Stores[0].Reason; d.Stores[0].State != decide.Rest || r.Code != decide.WaitStagger || r.Have != 2.5 {
		t.Errorf("frost: %v for %+v", d.Stores[0].State, r)
	}
	if d.AgainS != 2.5 {
		t.Errorf("asks again in %v s, want 2.5", d.AgainS)
	}
	if st.Stores[0].Doing != decide.Rest {
		t.Errorf("a waiting store remembers %v", st.Stores[0].Doing)
	}
	e.with = order(decide.OrderRun, 0, 60)
	if d, _ = e.decide(t); d.Stores[0].Reason.Code != decide.WaitStagger {
		t.Errorf("hand: %+v", d.Stores[0].Reason)
	}
	e.before = func(st *decide.State) { st.StaggerS = 10 }
	if d, _ = e.decide(t); !d.Stores[0].Running() {
		t.Errorf("once it is over: %+v", d.Stores[0].Reason)
	}
}

func TestBoardGrantClosesStarts(t *testing.T) {
	closed := func(in *decide.Inputs) { in.Grant.Closed = true }
	edges(t, []edge{
		{name: "no start", air: 20, soil: 12, with: closed, state: decide.Rest, code: decide.WaitGrant},
		{name: "nor for frost", air: 1, soil: 12, with: closed, state: decide.Rest, code: decide.WaitGrant},
		{name: "nor by hand", air: 1, soil: 12, with: inputs(closed, order(decide.OrderRun, 0, 60)), state: decide.Rest, code: decide.WaitGrant},
		{name: "what runs goes on", doing: decide.Charge, air: 20, soil: 12, with: closed, state: decide.Charge, code: decide.ChargePays},
	})
}

// Once one fan of a store runs, its second need not rest, but keeps its own starts per hour.
func TestSecondFanOfARunningStore(t *testing.T) {
	s := farm(t, one, cheap, manyFans(2))
	var st decide.State
	st.Stores[0] = ran(decide.Charge, 3600)
	d, _ := decide.Step(s, st, seen(20, 12), noon(t))
	if d.Stores[0].Stages[1] == 0 {
		t.Errorf("the second fan waits: %+v", d.Stores[0].Waiting)
	}
	st.Stores[0].Fans[1].StartWaitS = 100
	d, _ = decide.Step(s, st, seen(20, 12), noon(t))
	if w := d.Stores[0].Waiting; d.Stores[0].Stages[1] != 0 || w.Code != decide.WaitStarts || w.Have != 90 {
		t.Errorf("the second fan: stage %d, waiting %+v", d.Stores[0].Stages[1], w)
	}
	if d.Stores[0].State != decide.Charge || d.Stores[0].Reason.Code != decide.ChargePays {
		t.Errorf("meanwhile %v for %v", d.Stores[0].State, d.Stores[0].Reason.Code)
	}
}
