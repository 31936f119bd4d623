package decide_test

import (
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

func TestFrost(t *testing.T) {
	low := func(c unit.Celsius, q judge.Quality) func(*decide.Inputs) {
		return func(in *decide.Inputs) { in.CropLow = decide.Temperature{C: c, Quality: q} }
	}
	oldSoil := func(in *decide.Inputs) {
		in.Stores[0].Soil.Quality, in.Stores[0].Soil.LostS, in.Stores[0].Soil.Uncertain = judge.Bad, 1e6, 6
	}
	frostAt := func(c unit.Celsius) func(*decide.Settings) {
		return func(s *decide.Settings) { s.Policies[0].Frost = c }
	}
	noGain := func(s *decide.Settings) { s.Policies[0].FrostGain = 0 }
	tired := func(st *decide.State) { st.Stores[0].RestS, st.Stores[0].Fans[0].StartWaitS = 0, 500 }
	dear := func(s *decide.Settings) { s.Tariff.ElectricityPerKWh = 100 }
	protect, noHelp := decide.FrostProtect, decide.FrostNoHelp
	edges(t, []edge{
		{name: "at the limit it starts", air: 1.5, soil: 12, state: decide.Frost, code: protect, have: 1.5, need: 1.5},
		{name: "under the limit it starts", air: -3, soil: 12, state: decide.Frost, code: protect, have: -3, need: 1.5},
		{name: "over the limit it does not", air: 1.501, soil: 12, state: decide.Discharge, code: decide.DischargeProtect, have: 1.501, need: 6},
		{name: "running it goes on under limit and band", doing: decide.Frost, air: 2.499, soil: 12, state: decide.Frost, code: protect, have: 2.499, need: 2.5},
		{name: "running it stops at limit and band", doing: decide.Frost, air: 2.5, soil: 12, state: decide.Discharge, code: decide.DischargeProtect, have: 2.5, need: 6},
		{name: "running otherwise gives no band", doing: decide.Discharge, air: 1.501, soil: 12, state: decide.Discharge, code: decide.DischargeProtect, have: 1.501, need: 6},

		{name: "soil warmer by the gain helps", air: 1.5, soil: 2.5, state: decide.Frost, code: protect, have: 1.5, need: 1.5},
		{name: "soil warmer by less does not", air: 1.5, soil: 2.499, state: decide.Rest, code: noHelp, have: 0.999, need: 1},
		{name: "running, half the gain is enough", doing: decide.Frost, air: 1.5, soil: 2, state: decide.Frost, code: protect, have: 1.5, need: 2.5},
		{name: "running, less than half the gain is not", doing: decide.Frost, air: 1.5, soil: 1.999, state: decide.Rest, code: noHelp, have: 0.499, need: 1},
		{name: "never with soil as cold as the air", change: noGain, air: 1.5, soil: 1.5, state: decide.Rest, code: noHelp},
		{name: "never with soil as cold as the crop's air, whatever the intake's", change: noGain, air: 1.5, soil: 1.5, with: doubtfulAir, state: decide.Rest, code: noHelp},
		{name: "without a gain any warmer soil will do", change: noGain, air: 1.5, soil: 1.501, state: decide.Frost, code: protect, have: 1.5, need: 1.5},

		{name: "the lowest crop air counts", air: 4, soil: 12, with: low(1, judge.Good), state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "a doubtful lowest crop air counts", air: 4, soil: 12, with: low(1, judge.Doubtful), state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "a bad lowest crop air does not count", air: 1, soil: 12, with: low(-9, judge.Bad), state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "the vote counts where it is lower", air: 1, soil: 12, with: low(3, judge.Good), state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "doubtful air starts it", air: 0, soil: 12, with: doubtfulAir, state: decide.Frost, code: protect, have: 0, need: 1.5},
		{name: "a cold corner of a house warmer than the soil does not", air: 14, soil: 12, with: low(0, judge.Doubtful), state: decide.Rest, code: noHelp, have: -2, need: 1},
		{name: "nor of a house just as warm as the soil", air: 1, soil: 12, with: intake(12, judge.Good), state: decide.Rest, code: noHelp, have: 0, need: 1},
		{name: "a house a little colder than the soil is helped", air: 1, soil: 12, with: intake(11.999, judge.Good), state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "doubtful intake air does not stop it", air: 1, soil: 12, with: intake(14, judge.Doubtful), state: decide.Frost, code: protect, have: 1, need: 1.5},

		{name: "soil unread for days counts", air: 1, soil: 12, with: oldSoil, state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "old soil that cannot help does not", air: 1, soil: 1.5, with: oldSoil, state: decide.Rest, code: noHelp, have: 0.5, need: 1},
		{name: "soil never read is taken for 4 °C", change: frostAt(3), air: 3, with: noSoil, state: decide.Frost, code: protect, have: 3, need: 3},
		{name: "which does not help a house at 3.01 °C", change: frostAt(3.5), air: 3.01, with: noSoil, state: decide.Rest, code: decide.SoilLost},

		{name: "no crop needs none", change: noCrop, air: -3, soil: 12, state: decide.Discharge, code: decide.DischargePays},
		{name: "it skips minimum rest and starts per hour", before: tired, air: 1, soil: 12, state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "it skips what the window allows", change: allow(decide.Allow{}), air: 1, soil: 12, state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "it skips prices", change: dear, air: 1, soil: 12, state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "it skips an open vent and the floor", air: 1, soil: 12, with: inputs(vent, roots(2, 12)), state: decide.Frost, code: protect, have: 1, need: 1.5},
		{name: "it comes before an action", air: 1, soil: 12, before: due, change: exercise, state: decide.Frost, code: protect, have: 1, need: 1.5},
	})
}

func TestFrostRunsAtFullStage(t *testing.T) {
	y := begin(t, farm(t, one, threeSpeeds), night(t))
	if d := y.pass(0, seen(1, 12)); d.Stages[0] != 3 {
		t.Errorf("stage %d of 3", d.Stages[0])
	}
}

func TestFrostOutlastsTheGraceTime(t *testing.T) {
	gone := seen(0, 12)
	noAir(&gone)
	wet := gone
	wet.Stores[0].PipeWater = decide.On
	day := local(t, "2026-01-20T08:30:00")
	y := begin(t, farm(t, one), day)
	y.pass(2*time.Hour, seen(1, 12))
	y.want("a cold morning", decide.Frost, decide.FrostProtect)
	y.pass(0, wet)
	y.want("the air lost, and water that does not hold frost protection", decide.Frost, decide.AirGrace)
	y.pass(10*time.Minute-10*time.Second, gone)
	y.want("at the end of the grace time", decide.Frost, decide.AirGrace)
	if r := y.d.Stores[0].Reason; r.Have != 600 || r.Need != 600 {
		t.Errorf("lost for %v s of %v, want 600 of 600", r.Have, r.Need)
	}
	y.pass(0, gone)
	y.want("after it, by day", decide.Fallback, decide.FallbackDay)

	warm := gone
	warm.IntakeAir = good(12)
	x := begin(t, farm(t, one), day)
	x.pass(time.Hour, seen(1, 12))
	x.pass(0, warm)
	x.want("the air among the leaves lost, that at the intake as warm as the soil", decide.Rest, decide.AirGrace)

	z := begin(t, farm(t, one), day)
	z.pass(0, gone)
	z.want("at rest nothing starts within it", decide.Rest, decide.AirGrace)
}

// Power for one fan: frost protection keeps it although its air is lost, a minimum run does not.
func TestFrostInTheGraceTimeKeepsItsPower(t *testing.T) {
	s := farm(t, func(s *decide.Settings) { s.MaxPowerW = 600 })
	var st decide.State
	st.Stores[0], st.Stores[1] = ran(decide.Discharge, 100), ran(decide.Frost, 100)
	in := seen(0, 12)
	noAir(&in)
	d, _ := decide.Step(s, st, in, night(t))
	if d.Stores[0].Running() || !d.Stores[1].Running() {
		t.Errorf("first store %+v, second %+v", d.Stores[0].Reason, d.Stores[1].Reason)
	}
}

func TestFrostAlarms(t *testing.T) {
	for _, c := range []struct {
		name string
		e    edge
		want bool
	}{
		{"soil helps", edge{air: 1, soil: 12}, false},
		{"soil cannot help", edge{air: 1, soil: 1.5}, true},
		{"at the limit soil cannot help", edge{air: 1.5, soil: 1.5}, true},
		{"over the limit there is no alarm", edge{air: 1.501, soil: 1.5}, false},
		{"strict water", edge{air: 1, soil: 12, with: water, change: func(s *decide.Settings) { s.Stores[0].WaterHoldsFrost = true }}, true},
		{"no crop", edge{air: 1, soil: 1.5, change: noCrop}, false},
		{"taking heat out of the house by hand is no help", edge{air: 1, soil: 0.5, with: order(decide.OrderRun, 0, 60)}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, _ := c.e.decide(t)
			if d.Alarms.FrostNoHelp != c.want {
				t.Errorf("no help is %v, want %v", d.Alarms.FrostNoHelp, c.want)
			}
		})
	}
}

func TestOneStoreThatHelpsIsHelp(t *testing.T) {
	y := begin(t, farm(t), night(t))
	in := seen(1, 12)
	in.Stores[0].Soil.C = 1.2
	y.pass(0, in)
	if y.d.Stores[1].State != decide.Frost || y.d.Alarms.FrostNoHelp {
		t.Errorf("second store %v, no help is %v", y.d.Stores[1].State, y.d.Alarms.FrostNoHelp)
	}
}
