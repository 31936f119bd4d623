package house_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// metered adds meters to the farm: one for each fan of the beds, one for the beds, all of which
// need not answer.
func metered(s *house.Settings) {
	for _, m := range []struct {
		name string
		fan  int
	}{{"east W", 0}, {"west W", 1}, {"beds W", house.AllFans}} {
		s.Probes = append(s.Probes, house.Probe{Name: m.name, Fan: m.fan, Judge: judge.Defaults(judge.FanPower, judge.NoPlace, 0)})
	}
	s.Probes = append(s.Probes, house.Probe{Name: "beds move", Fan: house.AllFans, Judge: judge.Defaults(judge.AirflowProof, judge.NoPlace, 0)})
	beds := s.Decide.Stores[0].Fans
	beds[0].Levels, beds[1].PowerW = []float64{0.5, 1}, 200
}

// TestPowerAndAirflowProveFans says of the beds' fans, 600 W in two speeds and 200 W in one, what
// they were told and what their probes read. Limits, by the cube of the speed: still under a tenth
// of what is expected, weak under six tenths.
func TestPowerAndAirflowProveFans(t *testing.T) {
	const no, still, runs = decide.NoProof, decide.SeenStill, decide.SeenRunning
	type seen [2]decide.Feedback
	fan := func(p decide.Proof, weak bool) decide.Feedback { return decide.Feedback{Proof: p, Weak: weak} }
	drawing := func(p decide.Proof, weak bool, powerW float64) decide.Feedback {
		return decide.Feedback{Proof: p, Weak: weak, PowerKnown: true, PowerW: powerW}
	}
	tests := []struct {
		name   string
		stages [2]uint8
		r      readings
		want   seen
	}{
		{"nothing is wired", [2]uint8{2, 1}, readings{}, seen{}},

		{"power alone, as expected", [2]uint8{2, 0}, readings{"east W": 580}, seen{drawing(runs, false, 580)}},
		{"just enough", [2]uint8{2, 0}, readings{"east W": 360}, seen{drawing(runs, false, 360)}},
		{"clearly too little", [2]uint8{2, 0}, readings{"east W": 359}, seen{drawing(runs, true, 359)}},
		{"the least that turns a motor", [2]uint8{2, 0}, readings{"east W": 60}, seen{drawing(runs, true, 60)}},
		{"what electronics draw", [2]uint8{2, 0}, readings{"east W": 59}, seen{drawing(still, false, 59)}},
		{"at half speed an eighth is enough", [2]uint8{1, 0}, readings{"east W": 75}, seen{drawing(runs, false, 75)}},
		{"at half speed too little", [2]uint8{1, 0}, readings{"east W": 44}, seen{drawing(runs, true, 44)}},
		{"at half speed none", [2]uint8{1, 0}, readings{"east W": 7}, seen{drawing(still, false, 7)}},
		{"off and drawing", [2]uint8{0, 0}, readings{"east W": 60}, seen{drawing(runs, false, 60)}},
		{"off and still", [2]uint8{0, 0}, readings{"east W": 59}, seen{drawing(still, false, 59)}},

		{"they agree that it runs", [2]uint8{2, 0}, readings{"east W": 600, "beds east moves": 1}, seen{drawing(runs, false, 600)}},
		{"air moves at too little power", [2]uint8{2, 0}, readings{"east W": 200, "beds east moves": 1}, seen{drawing(runs, true, 200)}},
		{"they agree that it stands", [2]uint8{2, 0}, readings{"east W": 5, "beds east moves": 0}, seen{drawing(still, false, 5)}},
		{"a motor turns and moves no air", [2]uint8{2, 0}, readings{"east W": 600, "beds east moves": 0}, seen{drawing(runs, true, 600)}},
		{"a meter that fell off", [2]uint8{2, 0}, readings{"east W": 0, "beds east moves": 1}, seen{drawing(runs, true, 0)}},
		{"off, wind in the pipes", [2]uint8{0, 0}, readings{"east W": 0, "beds east moves": 1}, seen{drawing(still, false, 0)}},
		{"off, a motor that drives no wheel", [2]uint8{0, 0}, readings{"east W": 300, "beds east moves": 0}, seen{drawing(runs, false, 300)}},

		{
			"one meter for both: shares as expected",
			[2]uint8{2, 1},
			readings{"beds W": 720},
			seen{drawing(runs, false, 540), drawing(runs, false, 180)},
		},
		{
			"one of them stands, which is not known",
			[2]uint8{2, 1},
			readings{"beds W": 200},
			seen{drawing(runs, true, 150), drawing(runs, true, 50)},
		},
		{
			"both stand",
			[2]uint8{2, 1},
			readings{"beds W": 79},
			seen{drawing(still, false, 59.25), drawing(still, false, 19.75)},
		},
		{
			"while one runs the meter tells nothing of the other",
			[2]uint8{2, 0},
			readings{"beds W": 600},
			seen{drawing(runs, false, 600), drawing(no, false, 0)},
		},
		{
			"while none draws both stand",
			[2]uint8{2, 0},
			readings{"beds W": 10},
			seen{drawing(still, false, 10), drawing(still, false, 0)},
		},
		{
			"one is stuck, which is not known",
			[2]uint8{0, 0},
			readings{"beds W": 600},
			seen{drawing(runs, false, 450), drawing(runs, false, 150)},
		},
		{
			"both off",
			[2]uint8{0, 0},
			readings{"beds W": 8},
			seen{drawing(still, false, 6), drawing(still, false, 2)},
		},
		{
			"what a meter of its own takes is not the other's, and proves nothing of it",
			[2]uint8{2, 1},
			readings{"beds W": 780, "east W": 600},
			seen{drawing(runs, false, 600), drawing(no, false, 180)},
		},
		{
			"also of one that is off",
			[2]uint8{2, 0},
			readings{"beds W": 780, "east W": 600},
			seen{drawing(runs, false, 600), drawing(no, false, 180)},
		},
		{
			"nor less than nothing",
			[2]uint8{2, 1},
			readings{"beds W": 500, "east W": 600},
			seen{drawing(runs, false, 600), drawing(no, false, 0)},
		},

		{"one contact for both, air moves", [2]uint8{2, 1}, readings{"beds move": 1}, seen{fan(runs, false), fan(runs, false)}},
		{"no air moves", [2]uint8{2, 1}, readings{"beds move": 0}, seen{fan(still, false), fan(still, false)}},
		{"the air is the other's", [2]uint8{2, 0}, readings{"beds move": 1}, seen{fan(runs, false), fan(no, false)}},
		{"nobody should move it", [2]uint8{0, 0}, readings{"beds move": 1}, seen{fan(runs, false), fan(runs, false)}},
		{
			"its own contact counts over the shared one",
			[2]uint8{2, 1},
			readings{"beds move": 1, "beds west moves": 0},
			seen{fan(runs, false), fan(still, false)},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := farm(t, metered)
			st := house.State{}
			st.Last.Stores[0].State = decide.Charge
			copy(st.Last.Stores[0].Stages[:], tt.stages[:])
			in := house.New(s, st).Tick(house.Seen{StepS: 10, Believed: true, Raw: tt.r.raw(s)}, noon(t)).Inputs
			got := seen(in.Stores[0].Fans[:2])
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if in.Stores[1].Fans != [decide.MaxFans]decide.Feedback{} {
				t.Errorf("of the path it says %+v", in.Stores[1].Fans)
			}
		})
	}
}

// TestOfTwoThatWatchTheSameTheOneThatSaysMoreCounts has a second meter and contact on a fan.
func TestOfTwoThatWatchTheSameTheOneThatSaysMoreCounts(t *testing.T) {
	s := farm(t, metered, func(s *house.Settings) {
		for name, role := range map[string]judge.Role{"second W": judge.FanPower, "second air": judge.AirflowProof} {
			s.Probes = append(s.Probes, house.Probe{Name: name, Fan: 0, Judge: judge.Defaults(role, judge.NoPlace, 0)})
		}
	})
	for _, r := range []readings{
		{"east W": 500, "second W": 400, "beds east moves": 1, "second air": 0},
		{"east W": 400, "second W": 500, "beds east moves": 0, "second air": 1},
	} {
		st := house.State{}
		st.Last.Stores[0].Stages[0] = 2
		got := house.New(s, st).Tick(house.Seen{StepS: 10, Raw: r.raw(s)}, noon(t)).Inputs.Stores[0].Fans[0]
		if want := (decide.Feedback{Proof: decide.SeenRunning, PowerKnown: true, PowerW: 500}); got != want {
			t.Errorf("%v gives %+v, want %+v", r, got, want)
		}
	}
}

func TestDuctsAreReadByStore(t *testing.T) {
	s := farm(t, func(s *house.Settings) {
		for _, p := range []struct {
			name string
			role judge.Role
		}{{"in a", judge.DuctIn}, {"in b", judge.DuctIn}, {"out", judge.DuctOut}} {
			s.Probes = append(s.Probes, house.Probe{Name: p.name, Store: 1, Fan: house.AllFans, Judge: judge.Defaults(p.role, judge.NoPlace, 0), AgreeK: 2})
		}
	})
	r := calm().but("in a", 20).but("in b", 21).but("out", 14)
	in := house.New(s, house.State{}).Tick(house.Seen{StepS: 10, Raw: r.raw(s)}, noon(t)).Inputs
	if got := in.Stores[1]; got.DuctIn != good(20.5) || got.DuctOut != good(14) {
		t.Errorf("the path's ducts are %+v and %+v, want 20.5 and 14 °C", got.DuctIn, got.DuctOut)
	}
	if in.Stores[0].DuctIn.Quality.Usable() || in.Stores[0].DuctOut.Quality.Usable() {
		t.Error("the beds have ducts that nobody reads")
	}
}

// TestMetersAreSharedOutWhole lets meters read anything. What the fans of a store are said to draw
// is neither negative nor more, in sum, than what the meters say.
func TestMetersAreSharedOutWhole(t *testing.T) {
	s := farm(t, metered)
	rapid.Check(t, func(t *rapid.T) {
		r := readings{}
		most := 0.0
		for _, name := range []string{"east W", "west W", "beds W"} {
			if rapid.Bool().Draw(t, name+" answers") {
				r[name] = rapid.Float64Range(0, 2000).Draw(t, name)
				most += r[name]
			}
		}
		st := house.State{}
		st.Last.Stores[0].Stages[0] = uint8(rapid.IntRange(0, 2).Draw(t, "east"))
		st.Last.Stores[0].Stages[1] = uint8(rapid.IntRange(0, 1).Draw(t, "west"))
		fans := house.New(s, st).Tick(house.Seen{StepS: 10, Raw: r.raw(s)}, time.Unix(1768928400, 0)).Inputs.Stores[0].Fans
		sum := 0.0
		for j, f := range fans {
			if !(f.PowerW >= 0) || f.PowerW > 0 && !f.PowerKnown {
				t.Fatalf("fan %d: %+v", j, f)
			}
			sum += f.PowerW
		}
		if sum > most+1e-6 {
			t.Fatalf("%v W are shared out of %v W", sum, most)
		}
		total, one := r["beds W"]
		if _, east := r["east W"]; one && !east && len(r) == 1 && math.Abs(sum-total) > 1e-6 {
			t.Fatalf("%v W are shared out of the one meter's %v W", sum, total)
		}
	})
}
