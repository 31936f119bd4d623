package foresight

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestWorthsFindTheBestOfAllSchedules tries every schedule of ten hours: with worths of what lies
// ahead, the hours' best must be that of the worths, but for what levels are apart.
func TestWorthsFindTheBestOfAllSchedules(t *testing.T) {
	for _, c := range []struct {
		name    string
		from    int // the hour of the day with which the ten begin
		excessK float64
	}{
		{"into the night with a store as it is", 14, 0},
		{"through the night with a full store", 20, 4},
		{"through the day with an empty one", 7, -1.5},
	} {
		m := days(1)
		m.hours = append(m.hours[c.from:], m.hours[:c.from]...)[:10]
		w := m.Worths()
		tried := 0
		var best func(int, float64) float64
		best = func(at int, excessK float64) float64 {
			if at == len(m.hours) {
				tried++
				return w.at(at, excessK)
			}
			most := math.Inf(-1)
			m.moves(at, excessK, func(v move) { most = max(most, v.money+best(at+1, v.toK)) })
			return most
		}
		all, said := best(0, c.excessK), w.at(0, c.excessK)
		if tried < 1<<10 {
			t.Errorf("%s: only %d schedules were tried", c.name, tried)
		}
		if off := 0.01 * math.Abs(all); off < 1e-5 || math.Abs(said-all) > off {
			t.Errorf("%s: the worths say %.5f, the best of %d schedules earns %.5f", c.name, said, tried, all)
		}
		// Acting on them must be that good too, and cannot be better.
		acted, excessK := 0.0, c.excessK
		for at := range m.hours {
			v, _ := w.best(at, excessK)
			acted, excessK = acted+v.money, v.toK
		}
		if acted += w.at(len(m.hours), excessK); acted > all+1e-9 || acted < all-0.01*math.Abs(all) {
			t.Errorf("%s: acting on the worths earns %.5f, the best of all schedules %.5f", c.name, acted, all)
		}
	}
}

// TestNoScheduleOfTheModelEarnsMore draws schedules of a fortnight.
func TestNoScheduleOfTheModelEarnsMore(t *testing.T) {
	m := days(14)
	w := m.Worths()
	if w.Earned <= 0 {
		t.Fatalf("the fortnight earns %v", w.Earned)
	}
	rapid.Check(t, func(t *rapid.T) {
		earned, excessK := 0.0, 0.0
		for at := range m.hours {
			var all []move
			m.moves(at, excessK, func(v move) { all = append(all, v) })
			v := all[rapid.IntRange(0, len(all)-1).Draw(t, "move")]
			earned, excessK = earned+v.money, v.toK
		}
		if earned += w.at(len(m.hours), excessK); earned > w.at(0, 0)*1.005 {
			t.Fatalf("a schedule earns %v, the best %v", earned, w.at(0, 0))
		}
	})
}

// TestStoredHeatIsWorthMoreBeforeANight: by the evening it is worth more than on the morning after, and
// it is never worth more than the fuel that it can spare.
func TestStoredHeatIsWorthMoreBeforeANight(t *testing.T) {
	m := days(14)
	w := m.Worths()
	fuel := m.hours[0].fuel
	evening, morning := 6*24+18, 6*24+9
	if w.perJ(evening, 0) <= w.perJ(morning+24, 0) {
		t.Errorf("a kWh is worth %.4f before the night and %.4f after it", w.perJ(evening, 0)*jPerKWh, w.perJ(morning+24, 0)*jPerKWh)
	}
	for at := range m.hours {
		for _, excessK := range []float64{-2, 0, 3} {
			if worth := w.perJ(at, excessK); worth > fuel*1.001 || worth < -1e-12 {
				t.Fatalf("hour %d at %v K: a kWh is worth %v with fuel at %v", at, excessK, worth*jPerKWh, fuel*jPerKWh)
			}
		}
	}
}

// TestTheYearComesRound: the end of the year is worth what its beginning is.
func TestTheYearComesRound(t *testing.T) {
	m := days(60)
	w := m.Worths()
	n := len(m.hours)
	for _, excessK := range []float64{-1, 2, 5} {
		first, last := w.at(0, excessK)-w.at(0, 0), w.at(n, excessK)-w.at(n, 0)
		if math.Abs(first-last) > 0.02*math.Abs(first) {
			t.Errorf("%v K over are worth %v at the beginning and %v at the end", excessK, first, last)
		}
	}
}

// TestModelKeepsToLimits: no move charges under the charge floor or at the cap, discharges at the floor
// or out of a vent, or moves heat uphill.
func TestModelKeepsToLimits(t *testing.T) {
	m := days(3)
	for at := range m.hours {
		m.hours[at].cap = 24 // under the warmest air
	}
	charged := false
	for at := range m.hours {
		for _, excessK := range []float64{-12, -9.2, -2, 0, 5, 12.9, 13.1} {
			h, soil := &m.hours[at], m.hours[at].soil
			over := float64(h.air.Sub(soil)) - excessK
			m.moves(at, excessK, func(v move) {
				switch {
				case v.way == charge && (h.air <= h.chargeFloor || float64(soil)+excessK >= 24 || over <= 0),
					v.way == discharge && (h.open || float64(soil)+excessK <= 2 || over >= 0):
					t.Fatalf("hour %d, house %.1f °C, soil %.1f °C, open %v: %+v", at, h.air, float64(soil)+excessK, h.open, v)
				case v.way == charge && v.toK <= excessK*(1-m.fadesPerH), v.way == discharge && v.toK >= excessK*(1-m.fadesPerH):
					t.Fatalf("hour %d from %v K: %+v", at, excessK, v)
				}
				charged = charged || v.way == charge && excessK > 12
			})
		}
	}
	if !charged {
		t.Error("nothing is charged just under the cap")
	}
}

// TestTheYearEarnsWhatItsBeginningIsWorth: lived through once it has settled, a year that comes round earns
// what an empty store lies ahead of, by how worths are normed (relative value iteration: Bertsekas, Dynamic
// Programming and Optimal Control, vol. 2, from memory). What a joule is worth after an hour is what lies ahead
// then.
func TestTheYearEarnsWhatItsBeginningIsWorth(t *testing.T) {
	m := days(60)
	w := m.Worths()
	if ahead := w.at(0, 0); math.Abs(w.Earned-ahead) > 0.02*ahead {
		t.Errorf("it earns %v, %v lies ahead", w.Earned, ahead)
	}
	const excessK = 1.3
	differs := false
	for at := range m.hours {
		i, _ := w.place(excessK)
		lowK := w.lowK + float64(i)*w.stepK
		want := (w.at(at+1, lowK+w.stepK) - w.at(at+1, lowK)) / w.stepK / m.capacityJK
		if got := w.perJ(at, excessK); math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Fatalf("after hour %d a joule is worth %v, want %v", at, got, want)
		}
		differs = differs || w.perJ(at, excessK) != w.perJ((at+1)%len(m.hours), excessK)
	}
	if !differs {
		t.Error("it is worth the same in every hour")
	}
}
