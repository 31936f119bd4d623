package decide_test

import (
	"testing"
	"time"

	"loambank/controller/decide"
)

// down marks a fan of the first store as one whose device takes no orders.
func down(j int) func(*decide.Inputs) {
	return func(in *decide.Inputs) { in.Stores[0].Fans[j].Down = true }
}

func TestAFanWhoseDeviceIsDownIsLeftOut(t *testing.T) {
	edges(t, []edge{
		{name: "alone it rests", change: one, air: 20, soil: 12, with: down(0), state: decide.Rest, code: decide.WaitFault},
		{name: "also for frost", change: one, air: 1, soil: 12, with: down(0), state: decide.Rest, code: decide.WaitFault},
		{name: "also by hand", change: one, air: 20, soil: 12, with: inputs(down(0), order(decide.OrderRun, 0, 60)), state: decide.Rest, code: decide.WaitFault},
		{name: "running it is put off", change: one, doing: decide.Charge, air: 20, soil: 12, with: down(0), state: decide.Rest, code: decide.WaitFault},
		{name: "a place without a fan is nobody's", change: one, air: 20, soil: 12, with: down(1), state: decide.Charge, code: decide.ChargePays},
	})
	s := farm(t, one, cheap, manyFans(2))
	y := begin(t, s, noon(t))
	in := seen(20, 12)
	down(0)(&in)
	y.pass(0, in)
	if got := y.d.Stores[0].Stages; got[0] != 0 || got[1] != 1 || !y.d.Alarms.FanFault {
		t.Errorf("with one of two down the stages are %v, alarms %+v", got, y.d.Alarms)
	}
	alone := y.d.Stores[0].HeatW
	y.pass(30*time.Second, seen(20, 12))
	if got := y.d.Stores[0].Stages; got[0] != 1 || got[1] != 1 || y.d.Alarms.FanFault {
		t.Errorf("back again the stages are %v, alarms %+v", got, y.d.Alarms)
	}
	if both := y.d.Stores[0].HeatW; !(both > 1.2*alone && both < 2*alone) {
		t.Errorf("one fan moves %v W, both %v W", alone, both)
	}
}

// TestAFanThatIsDownDoesNotEarn reckons with the fan that is left: it alone must pay.
func TestAFanThatIsDownDoesNotEarn(t *testing.T) {
	s := farm(t, seaLevel(0.6, 0.6), manyFans(2), electricity(0.04)) // as in TestDeadFansDoNotEarn
	s.Stores[0].Fans[0].PowerW, s.Stores[0].Fans[1].PowerW = 1, 6000
	in := seen(25, 15)
	if d, _ := decide.Step(s, ready(), in, noon(t)); !d.Stores[0].Running() {
		t.Fatalf("both are well and rest: %+v", d.Stores[0].Reason)
	}
	down(0)(&in)
	if d, _ := decide.Step(s, ready(), in, noon(t)); d.Stores[0].Reason.Code != decide.ChargeNotWorth {
		t.Errorf("the costly one alone: %+v", d.Stores[0].Reason)
	}
}

// TestAStartThatFollowsInSecondsIsHelp: nobody is called to the bell for a stagger.
func TestAStartThatFollowsInSecondsIsHelp(t *testing.T) {
	for _, c := range []struct {
		name string
		e    edge
		want bool
	}{
		{"the stagger", edge{air: 1, soil: 12, before: func(st *decide.State) { st.StaggerS = 100 }}, false},
		{"another house's start", edge{air: 1, soil: 12, with: func(in *decide.Inputs) { in.Grant.Closed = true }}, false},
		{"no power is no help", edge{air: 1, soil: 12, with: func(in *decide.Inputs) { in.Grant = decide.Grant{Limited: true} }}, true},
		{"nor is a fan that is down", edge{air: 1, soil: 12, with: down(0)}, true},
	} {
		c.e.change = one
		if d, _ := c.e.decide(t); d.Alarms.FrostNoHelp != c.want {
			t.Errorf("%s: no help is %v, want %v; waiting for %v", c.name, d.Alarms.FrostNoHelp, c.want, d.Stores[0].Reason.Code)
		}
	}
}
