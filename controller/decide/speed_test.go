package decide_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/decide"
)

// byHand is what a store leaves over per hour at one speed and what its electricity costs, both
// in money, reckoned apart from the package: dry air by the gas law, transfer units that grow as
// the flow falls, power with the cube of the speed.
func byHand(s *decide.Settings, store *decide.Store, level int, air, soil unit.Celsius, worth float64) (left, cost float64) {
	var full, flow, powerW float64
	for _, fan := range store.Fans {
		v := fan.Levels[min(level, len(fan.Levels))-1]
		believed := fan.FlowM3s
		if fan.Catalogue {
			believed *= 0.5
		}
		full += believed
		flow += believed * v
		powerW += fan.PowerW * math.Pow(v, 3)
	}
	ntu := -math.Log(1-store.Effectiveness) * full / flow
	density := s.PressurePa / (287.042 * (float64(air) + 273.15))
	heatW := flow * density * 1006 * (1 - math.Exp(-ntu)) * math.Abs(float64(air-soil))
	cost = powerW / 1000 * s.Tariff.ElectricityPerKWh
	return heatW/1000*worth - cost, cost
}

// variable draws a store of one to three fans of one to four speeds.
func variable(rt *rapid.T) decide.Store {
	store := decide.Store{MinRunS: 600, MinRestS: 300, Effectiveness: rapid.Float64Range(0.2, 0.95).Draw(rt, "effectiveness")}
	for range rapid.IntRange(1, 3).Draw(rt, "fans") {
		fan := decide.Fan{
			PowerW:    rapid.Float64Range(50, 1500).Draw(rt, "power"),
			FlowM3s:   rapid.Float64Range(0.05, 1.5).Draw(rt, "flow"),
			Catalogue: rapid.Bool().Draw(rt, "catalogue"),
		}
		n := rapid.IntRange(1, 4).Draw(rt, "levels")
		for k := range n {
			fan.Levels = append(fan.Levels, float64(k+1)/float64(n))
		}
		store.Fans = append(store.Fans, fan)
	}
	return store
}

// The speed rule against every speed reckoned by hand: most left over per hour, and of a running
// store only after five minutes and for a tenth of its cost.
func TestSpeedLeavesMostOver(t *testing.T) {
	base := farm(t, one)
	at := noon(t)
	rapid.Check(t, func(rt *rapid.T) {
		s := base
		s.Stores = []decide.Store{variable(rt)}
		s.StaggerS = 0
		s.Tariff.ElectricityPerKWh = rapid.Float64Range(0.01, 0.6).Draw(rt, "price")
		air := unit.Celsius(rapid.Float64Range(16, 40).Draw(rt, "air"))
		n := 0
		for _, fan := range s.Stores[0].Fans {
			n = max(n, len(fan.Levels))
		}
		best, bestLeft := 0, math.Inf(-1)
		for level := 1; level <= n; level++ {
			if left, _ := byHand(&s, &s.Stores[0], level, air, 12, 0.04); left > bestLeft+1e-12 {
				best, bestLeft = level, left
			}
		}
		_, cost := byHand(&s, &s.Stores[0], best, air, 12, 0.04)
		st := ready()
		d, _ := decide.Step(s, st, seen(air, 12), at)
		switch earned := bestLeft + cost; {
		case math.Abs(earned-1.2*cost) < 1e-3*cost:
			return // too near to tell
		case earned < 1.2*cost:
			if d.Stores[0].Running() {
				rt.Fatalf("runs at %v although the best speed earns %v for %v", d.Stores[0].Stages, earned, cost)
			}
			return
		}
		was := rapid.IntRange(1, n).Draw(rt, "was")
		wasLeft, wasCost := byHand(&s, &s.Stores[0], was, air, 12, 0.04)
		dwell := rapid.SampledFrom([]float64{0, 200, 289.9, 290, 400, 1e4}).Draw(rt, "dwell")
		if _, stage := chosen(d); stage != best && leftDiffers(&s, air, stage, bestLeft) {
			rt.Fatalf("starts at %d, by hand %d leaves %v", stage, best, bestLeft)
		}
		st.Stores[0] = ran(decide.Charge, 3600)
		st.Stores[0].Stage, st.Stores[0].StageS = uint8(was), dwell
		for j := range s.Stores[0].Fans {
			st.Stores[0].Fans[j].Stage = uint8(min(was, len(s.Stores[0].Fans[j].Levels)))
		}
		_, st2 := decide.Step(s, st, seen(air, 12), at)
		want, gain := best, bestLeft-wasLeft
		if dwell+10 < 300 || gain < 0.1*wasCost {
			want = was
		}
		if wasLeft < 0 && want == was || math.Abs(gain-0.1*wasCost) < 1e-3*wasCost {
			return // does not pay at the old speed, or too near to tell
		}
		if got := int(st2.Stores[0].Stage); got != want && leftDiffers(&s, air, got, bestLeft) {
			rt.Fatalf("running at %d for %v s it goes to %d, want %d (gain %v of %v)", was, dwell+10, got, want, gain, wasCost)
		}
	})
}

// chosen is the store speed that a decision's stages show.
func chosen(d decide.Decision) (any bool, level int) {
	for _, stage := range d.Stores[0].Stages {
		level = max(level, int(stage))
	}
	return level > 0, level
}

// leftDiffers reports whether a speed leaves less over than the best by more than rounding.
func leftDiffers(s *decide.Settings, air unit.Celsius, level int, best float64) bool {
	if level == 0 {
		return true
	}
	left, cost := byHand(s, &s.Stores[0], level, air, 12, 0.04)
	return best-left > 1e-6*cost
}

// Two speeds, the price at which the slower leaves a tenth of the faster's cost more, and one
// percent to either side of it.
func TestSpeedChangesForATenthOfItsCost(t *testing.T) {
	base := farm(t, seaLevel(0.6, 0.6), func(s *decide.Settings) { s.Stores[0].Fans[0].Levels = []float64{0.7, 1} })
	free := base
	free.Tariff.ElectricityPerKWh = 0
	slowEarns, _ := byHand(&free, &free.Stores[0], 1, 25, 15, 0.04)
	fastEarns, _ := byHand(&free, &free.Stores[0], 2, 25, 15, 0.04)
	slowKW, fastKW := 0.6*0.343, 0.6
	equal := (fastEarns - slowEarns) / (fastKW - slowKW)
	down := (fastEarns - slowEarns) / (fastKW - slowKW - 0.1*fastKW)
	up := (fastEarns - slowEarns) / (fastKW - slowKW + 0.1*slowKW)
	for _, c := range []struct {
		name  string
		price float64
		was   uint8 // 0 is at rest
		heldS float64
		want  uint8
	}{
		{"at rest just under the price at which both leave the same", equal * 0.99, 0, 0, 2},
		{"at rest just over it", equal * 1.01, 0, 0, 1},
		{"at the faster, just under a tenth", down * 0.99, 2, 300, 2},
		{"at the faster, just over a tenth", down * 1.01, 2, 300, 1},
		{"at the faster, just over a tenth, too soon", down * 1.01, 2, 299, 2},
		{"at the slower, just under a tenth", up * 1.01, 1, 300, 1},
		{"at the slower, just over a tenth", up * 0.99, 1, 300, 2},
		{"at the slower, just over a tenth, too soon", up * 0.99, 1, 299, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, st := base, ready()
			s.Tariff.ElectricityPerKWh = c.price
			if c.was > 0 {
				st.Stores[0] = ran(decide.Charge, 3600)
				st.Stores[0].Stage, st.Stores[0].StageS = c.was, c.heldS-10
				st.Stores[0].Fans[0].Stage = c.was
			}
			d, _ := decide.Step(s, st, seen(25, 15), noon(t))
			if got := d.Stores[0].Stages[0]; got != c.want {
				t.Errorf("stage %d, want %d (%+v)", got, c.want, d.Stores[0].Reason)
			}
		})
	}
}

func TestSpeedOfEqualsIsTheSlowest(t *testing.T) {
	free := func(s *decide.Settings) {
		threeSpeeds(s)
		s.Stores[0].Fans[0].PowerW = 0
		s.Stores[0].Fans[0].Levels = []float64{0.5, 1, 1}
	}
	e := edge{change: free, air: 20, soil: 12}
	if d, _ := e.decide(t); d.Stores[0].Stages[0] != 2 {
		t.Errorf("stage %d, want 2", d.Stores[0].Stages[0])
	}
}

// Within 2 K of the frost limit heat is brought up at full speed, whatever leaves more over.
func TestSpeedNearTheFrostLimit(t *testing.T) {
	dear := settings(threeSpeeds, electricity(0.5))
	n := night(t)
	for _, c := range []struct {
		name  string
		e     edge
		stage uint8
	}{
		{"within 2 K", edge{change: dear, now: n, air: 3.5, soil: 12}, 3},
		{"over 2 K", edge{change: dear, now: n, air: 3.501, soil: 12}, 2},
		{"within 2 K by the lowest crop air", edge{change: dear, now: n, air: 4, soil: 12, with: func(in *decide.Inputs) { in.CropLow.C = 3.5 }}, 3},
		{"within 2 K without a crop", edge{change: settings(dear, noCrop), now: n, air: 3, soil: 12}, 2},
		{"charging near the frost limit", edge{change: settings(dear, stored(0.2), func(s *decide.Settings) { s.Policies[0].ChargeFloor = 0 }), air: 3.4, soil: -9}, 2},
	} {
		if d, _ := c.e.decide(t); d.Stores[0].Stages[0] != c.stage {
			t.Errorf("%s: stage %d, want %d (%+v)", c.name, d.Stores[0].Stages[0], c.stage, d.Stores[0].Reason)
		}
	}
}

func TestFansWithFewerSpeedsHoldTheirFastest(t *testing.T) {
	two := func(s *decide.Settings) {
		threeSpeeds(s)
		s.Stores[0].Fans = append(s.Stores[0].Fans, decide.Fan{PowerW: 100, FlowM3s: 0.2, Levels: []float64{1}})
		s.StaggerS = 0
	}
	e := edge{change: two, air: 20, soil: 12, with: order(decide.OrderRun, 2, 60)}
	d, _ := e.decide(t)
	if got := d.Stores[0].Stages; got[0] != 2 || got[1] != 1 {
		t.Errorf("stages %v, want 2 and 1", got)
	}
	if want := 600*0.343 + 100; !near(d.Stores[0].PowerW, want) {
		t.Errorf("%v W, want %v W", d.Stores[0].PowerW, want)
	}
}

func TestSpeedIsKeptForFiveMinutes(t *testing.T) {
	y := begin(t, farm(t, one, threeSpeeds, electricity(0.1)), noon(t))
	hot, mild := seen(34, 12), seen(17, 12)
	if d := y.pass(0, hot); d.Stages[0] != 3 {
		t.Fatalf("stage %d in hot air", d.Stages[0])
	}
	for k := range 29 {
		if d := y.pass(0, mild); d.Stages[0] != 3 {
			t.Fatalf("stage %d after %d s", d.Stages[0], 10*(k+1))
		}
	}
	if d := y.pass(0, mild); d.Stages[0] == 3 {
		t.Errorf("stage %d after five minutes", d.Stages[0])
	}
}

// Only the speed that leaves most over is asked whether it pays, and yet fans start exactly where
// any speed at all pays, reckoned by hand.
func TestAnySpeedThatPaysIsTaken(t *testing.T) {
	base := farm(t, one)
	at := noon(t)
	started, refused := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		s := base
		s.Stores = []decide.Store{variable(rt)}
		s.Tariff.ElectricityPerKWh = rapid.Float64Range(0.01, 3).Draw(rt, "electricity")
		air := unit.Celsius(rapid.Float64Range(17, 35).Draw(rt, "air"))
		const soil, worth = 12, 0.04
		levels := 0
		for _, fan := range s.Stores[0].Fans {
			levels = max(levels, len(fan.Levels))
		}
		pays := 0
		for level := 1; level <= levels; level++ {
			left, cost := byHand(&s, &s.Stores[0], level, air, soil, worth)
			if r := (left + cost) / cost; math.Abs(r-s.WorthBand) < 2*little {
				rt.Skip("too close to the band for figures reckoned by hand")
			} else if r > s.WorthBand {
				pays = level
			}
		}
		var st decide.State
		rested(&st)
		d, _ := decide.Step(s, st, seen(air, soil), at)
		if got := d.Stores[0].State == decide.Charge || d.Stores[0].Waiting.Code != decide.NoReason; got != (pays > 0) {
			rt.Fatalf("charging is %v, the fastest speed that pays is %d of %d: %+v", got, pays, levels, d.Stores[0].Reason)
		}
		if pays == 0 {
			refused++
		} else {
			started++
		}
	})
	if started == 0 || refused == 0 {
		t.Errorf("%d starts and %d refusals: both must be met", started, refused)
	}
}
