package decide_test

import (
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
)

func TestPowerLimit(t *testing.T) {
	site := func(w float64) func(*decide.Settings) {
		return func(s *decide.Settings) { s.MaxPowerW = w }
	}
	generator := func(w float64) func(*decide.Settings) {
		return func(s *decide.Settings) { s.GeneratorPowerW = w }
	}
	onGenerator := func(c decide.Contact) func(*decide.Inputs) {
		return func(in *decide.Inputs) { in.OnGenerator = c }
	}
	grant := func(limited bool, w float64) func(*decide.Inputs) {
		return func(in *decide.Inputs) { in.Grant = decide.Grant{Limited: limited, PowerW: w} }
	}
	pays, short := decide.ChargePays, decide.WaitPower
	edges(t, []edge{
		{name: "the site's limit at the fan's power lets it start", change: site(600), air: 20, soil: 12, state: decide.Charge, code: pays},
		{name: "under it it waits", change: site(599), air: 20, soil: 12, state: decide.Rest, code: short, have: 599, need: 600},
		{name: "no limit is no limit", change: site(0), air: 20, soil: 12, state: decide.Charge, code: pays},
		{name: "a running fan is stopped too", doing: decide.Charge, change: site(599), air: 20, soil: 12, state: decide.Rest, code: short, have: 599, need: 600},
		{name: "frost protection too", change: site(599), air: 1, soil: 12, state: decide.Rest, code: short, have: 599, need: 600},
		{name: "a person too", change: site(599), air: 20, soil: 12, with: order(decide.OrderRun, 0, 60), state: decide.Rest, code: short, have: 599, need: 600},
		{name: "on the generator its limit holds", change: generator(500), air: 20, soil: 12, with: onGenerator(decide.On), state: decide.Rest, code: short, have: 500, need: 600},
		{name: "off it it does not", change: generator(500), air: 20, soil: 12, with: onGenerator(decide.Off), state: decide.Charge, code: pays},
		{name: "the lower of site and generator holds", change: settings(site(400), generator(500)), air: 20, soil: 12, with: onGenerator(decide.On), state: decide.Rest, code: short, have: 400, need: 600},
		{name: "a generator without a limit leaves the site's", change: site(599), air: 20, soil: 12, with: onGenerator(decide.On), state: decide.Rest, code: short, have: 599, need: 600},
		{name: "the board's grant holds", air: 20, soil: 12, with: grant(true, 450), state: decide.Rest, code: short, have: 450, need: 600},
		{name: "the lower of site and grant holds", change: site(400), air: 20, soil: 12, with: grant(true, 450), state: decide.Rest, code: short, have: 400, need: 600},
		{name: "a grant of nothing is nothing", air: 20, soil: 12, with: grant(true, 0), state: decide.Rest, code: short, have: 0, need: 600},
		{name: "no grant is no limit", air: 20, soil: 12, with: grant(false, 0), state: decide.Charge, code: pays},
	})
}

// Electricity goes with the cube of the speed (fan laws, AMCA 201): 600 W at full speed is
// 205.8 W at 0.7 and 38.4 W at 0.4.
func TestPowerShortageSlowsAFan(t *testing.T) {
	for _, c := range []struct {
		name   string
		limitW float64
		stage  uint8
		powerW float64
		state  decide.Activity
	}{
		{"enough for full", 600, 3, 600, decide.Frost},
		{"just under full", 599.9, 2, 205.8, decide.Frost},
		{"enough for the second", 205.81, 2, 205.8, decide.Frost},
		{"just under the second", 205.79, 1, 38.4, decide.Frost},
		{"just under the first", 38.3, 0, 0, decide.Rest},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := edge{change: settings(threeSpeeds, func(s *decide.Settings) { s.MaxPowerW = c.limitW }), air: 1, soil: 12}
			d, st := e.decide(t)
			got := &d.Stores[0]
			if got.Stages[0] != c.stage || !near(got.PowerW, c.powerW) || got.State != c.state {
				t.Errorf("stage %d at %v W, %v", got.Stages[0], got.PowerW, got.State)
			}
			if c.stage == 0 && !near(got.Reason.Need, 38.4) {
				t.Errorf("waits for %v W, want the slowest speed's", got.Reason.Need)
			}
			if st.Stores[0].Fans[0].Stage != c.stage {
				t.Errorf("remembers stage %d", st.Stores[0].Fans[0].Stage)
			}
		})
	}
}

// When power is short: first who saves the crop or obeys a person, then who runs, then who has
// most left over per kWh.
func TestWhoIsServedFirst(t *testing.T) {
	short := func(s *decide.Settings) { s.MaxPowerW, s.StaggerS = 600, 0 }
	second := func(run func(*decide.Inputs)) func(*decide.Inputs) {
		return func(in *decide.Inputs) {
			run(in)
			in.Stores[0].Order, in.Stores[1].Order = in.Stores[1].Order, in.Stores[0].Order
		}
	}
	soils := func(a, b unit.Celsius) func(*decide.Inputs) {
		return func(in *decide.Inputs) { in.Stores[0].Soil.C, in.Stores[1].Soil.C = a, b }
	}
	runs := func(i int) func(*decide.State) {
		return func(st *decide.State) { st.Stores[i] = ran(decide.Charge, 3600) }
	}
	for _, c := range []struct {
		name   string
		air    unit.Celsius
		before func(*decide.State)
		with   func(*decide.Inputs)
		want   int
	}{
		{"a person in the second store before charging in the first", 22, nil, second(order(decide.OrderRun, 0, 60)), 1},
		{"a person in the second store before the running first", 22, runs(0), second(order(decide.OrderRun, 0, 60)), 1},
		{"frost protection in the second store, the only one with help", 1, nil, soils(1.5, 12), 1},
		{"the running second store", 22, runs(1), soils(12, 12), 1},
		{"the running first store", 22, runs(0), soils(12, 12), 0},
		{"the second store with the colder soil", 22, nil, soils(12, 8), 1},
		{"the first store with the larger fan", 22, nil, soils(12, 12), 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := farm(t, cheap, short)
			var st decide.State
			rested(&st)
			if c.before != nil {
				c.before(&st)
			}
			in := seen(c.air, 12)
			c.with(&in)
			d, _ := decide.Step(s, st, in, noon(t))
			for i := range s.Stores {
				if d.Stores[i].Running() != (i == c.want) {
					t.Errorf("store %d: running is %v, %+v", i, d.Stores[i].Running(), d.Stores[i].Reason)
				}
			}
		})
	}
}

// Of two stores the one with more left over per kWh comes first, although the other moves more.
func TestTheThriftierStoreIsServedFirst(t *testing.T) {
	s := farm(t, cheap, func(s *decide.Settings) {
		s.MaxPowerW, s.StaggerS = 600, 0
		s.Stores[1].Fans = []decide.Fan{{PowerW: 300, FlowM3s: 0.4, Levels: []float64{1}}}
	})
	d, _ := decide.Step(s, ready(), seen(24, 12), noon(t))
	if d.Stores[0].Running() || !d.Stores[1].Running() {
		t.Errorf("first store %+v, second %+v", d.Stores[0].Reason, d.Stores[1].Reason)
	}
}

func TestAStartTakesNoPowerFromARunningFan(t *testing.T) {
	s := farm(t, one, cheap, manyFans(2), func(s *decide.Settings) { s.MaxPowerW = 600 })
	var st decide.State
	st.Stores[0] = ran(decide.Charge, 3600)
	st.Stores[0].Fans[0], st.Stores[0].Fans[1] = decide.FanState{HeldS: 3600}, st.Stores[0].Fans[0]
	d, _ := decide.Step(s, st, seen(20, 12), noon(t))
	if got := d.Stores[0].Stages; got[0] != 0 || got[1] != 1 {
		t.Errorf("stages %v, want the second fan to run on", got)
	}
	if w := d.Stores[0].Waiting; w.Code != decide.WaitPower || w.Have != 0 || w.Need != 600 {
		t.Errorf("waiting %+v", w)
	}
}

// Fans that power held back follow when there is power again.
func TestPowerBackFromTheGenerator(t *testing.T) {
	y := begin(t, farm(t, one, cheap, manyFans(3), func(s *decide.Settings) { s.GeneratorPowerW = 1300 }), night(t))
	in := seen(1, 12)
	in.OnGenerator = decide.On
	y.pass(time.Minute, in)
	if n := on(&y.d); n != 2 || y.d.Stores[0].PowerW != 1200 {
		t.Errorf("on the generator %d fans at %v W", n, y.d.Stores[0].PowerW)
	}
	in.OnGenerator = decide.Off
	y.pass(0, in)
	if n := on(&y.d); n != 3 {
		t.Errorf("off it %d fans", n)
	}
}
