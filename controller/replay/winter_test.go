package replay_test

import (
	"math"
	"testing"
	"time"

	"loambank/controller/decide"
)

// silence is the longest time without a tick.
const silence = 15 * time.Minute

// ticked is one tick of a replay.
type ticked struct {
	moment
	silent bool
	doing  // until the next tick
	lasts  time.Duration
}

// ticks lists the instants at which a replay ticks: every row, and in gaps every 15 minutes.
func ticks(moments []moment) []ticked {
	var all []ticked
	for i, m := range moments {
		if i > 0 {
			for at := moments[i-1].at.Add(silence); at.Before(m.at); at = at.Add(silence) {
				all = append(all, ticked{moment: moment{at: at}, silent: true})
			}
		}
		all = append(all, ticked{moment: m})
	}
	for i := range all[:len(all)-1] {
		all[i].lasts = all[i+1].at.Sub(all[i].at)
	}
	return all
}

// fill puts what the replay did into its ticks.
func (w *winter) fill(t *testing.T, all []ticked) {
	t.Helper()
	now, next := doing{}, 0
	for i := range all {
		if next < len(w.changes) && w.changes[next].at.Equal(all[i].at) {
			d := &w.changes[next].d
			now = doing{d.State, d.Running()}
			next++
		}
		all[i].doing = now
	}
	if next != len(w.changes) {
		t.Fatalf("a change at %v is at no row and no 15 minutes after one", w.changes[next].at)
	}
}

// reason is why the replay does what it does at that time, as last reported.
func (w *winter) reason(at time.Time) decide.Code {
	code := decide.NoReason
	for _, c := range w.changes {
		if !c.at.After(at) {
			code = c.d.Reason.Code
		}
	}
	return code
}

// reckoned is what the naive rules' own readings add up to under what the replay did.
type reckoned struct {
	differ        int // ticks decided the other way
	frost, blind  time.Duration
	inKWh, outKWh float64
	low           float64
	lowAt         time.Time
}

// follow decides every tick once more by the naive rules. Where they differ from the replay, the
// numbers compared must lie within a tolerance of a limit, and the comparison the other way must
// give what the replay did.
func follow(t *testing.T, w *winter, all []ticked) reckoned {
	t.Helper()
	n := naive{watches: watches()}
	sum := reckoned{low: math.Inf(1)}
	near, wrong := 0, 0
	for i := range all {
		x := &all[i]
		is, flipped, close := n.tick(x.moment)
		if len(close) > 0 {
			near++
		}
		if x.doing != is {
			sum.differ++
			if x.doing != flipped || len(close) == 0 {
				wrong++
				t.Errorf("%v: replay: %v (%s); naive rules: %v (last asked: %s; close: %v); air %v, soil %.3f",
					x.at, x.doing, w.reason(x.at), is, n.why, close, n.air().value, n.soil)
			}
			if wrong > 10 {
				t.FailNow()
			}
		}
		n.take(x.at, x.doing)
		sum.add(&n, x)
	}
	t.Logf("%d ticks, %d close to a limit, %d of them decided the other way", len(all), near, sum.differ)
	return sum
}

func (r *reckoned) add(n *naive, x *ticked) {
	kWh := n.heatW * x.lasts.Hours() / 1000
	r.inKWh += max(0, kWh)
	r.outKWh += max(0, -kWh)
	air := n.air()
	if air.how == lost {
		r.blind += x.lasts
		return
	}
	if air.value <= frostLimit {
		r.frost += x.lasts
	}
	if air.value < r.low {
		r.low, r.lowAt = air.value, x.at
	}
}

// TestWintersFollowTheRules replays both measured tunnels and decides every tick once more by rules
// that know nothing of the core, with another formula for moist air and another for the sun.
func TestWintersFollowTheRules(t *testing.T) {
	for _, u := range tunnels(t) {
		t.Run(u.name, func(t *testing.T) {
			w, all := replayed(t, &u), ticks(u.moments)
			w.fill(t, all)
			sum := follow(t, &w, all)
			if most := len(all) / 1000; sum.differ > most {
				t.Errorf("%d of %d ticks differ, want at most %d", sum.differ, len(all), most)
			}
			w.checkSummary(t, all, sum)
		})
	}
}

// checkSummary compares what the replay added up with what its ticks add up to.
func (w *winter) checkSummary(t *testing.T, all []ticked, want reckoned) {
	t.Helper()
	silent, starts := int64(0), int64(0)
	var states [decide.Activities]float64
	var runS [decide.Activities]float64
	for i := range all {
		x := &all[i]
		states[x.state] += x.lasts.Seconds()
		if x.on {
			runS[x.state] += x.lasts.Seconds()
			if i == 0 || !all[i-1].on {
				starts++
			}
		}
		if x.silent {
			silent++
		}
	}
	first, last := all[0].at, all[len(all)-1].at
	house := &w.sum.Houses[0]
	fan := &house.Account.Stores[0].Fans[0]
	store := &house.Account.Stores[0]
	if !w.sum.First.Equal(first) || !w.sum.Last.Equal(last) || w.sum.Rows != int64(len(all))-silent || w.sum.SilentTicks != silent {
		t.Errorf("%v to %v, %d rows and %d silent ticks; want %v to %v, %d and %d",
			w.sum.First, w.sum.Last, w.sum.Rows, w.sum.SilentTicks, first, last, int64(len(all))-silent, silent)
	}
	total := 0.0
	for _, s := range store.StateS {
		total += s
	}
	if span := last.Sub(first).Seconds(); total != span {
		t.Errorf("the time in all states is %.0f s, the time replayed %.0f s", total, span)
	}
	if store.StateS != states || house.Account.StateS != states {
		t.Errorf("time in states %v and %v, want %v s", store.StateS, house.Account.StateS, states)
	}
	if fan.RunS != runS || fan.Starts != starts {
		t.Errorf("the fan ran %v s with %d starts, want %v and %d", fan.RunS, fan.Starts, runS, starts)
	}
	kWh := fan.RunTotalS() / 3600 * fanW / 1000
	near(t, "electricity, kWh", fan.EnergyKWh, kWh, 1e-9)
	near(t, "electricity, EUR", house.Account.ElectricityMoney, kWh*0.25, 1e-9)
	near(t, "fuel, EUR, in an unheated house", house.Account.FuelMoney, 0, 0)
	near(t, "heat in, kWh", store.In.KWh(), want.inKWh, nearRatio)
	near(t, "heat out, kWh", store.Out.KWh(), want.outKWh, nearRatio)
	near(t, "time at the frost limit, s", house.FrostS, want.frost.Seconds(), 0)
	near(t, "time without air, s", house.BlindS, want.blind.Seconds(), 0)
	if l := house.Low; !l.Known || float64(l.C) != want.low || !l.Time.Equal(want.lowAt) {
		t.Errorf("lowest crop air %+v, want %v °C at %v", l, want.low, want.lowAt)
	}
}

// near fails unless have lies within a share of want.
func near(t *testing.T, what string, have, want, share float64) {
	t.Helper()
	if !(math.Abs(have-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %v, want %v within %g of it", what, have, want, share)
	}
}
