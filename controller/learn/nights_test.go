package learn_test

import (
	"math"
	"os"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

// spell is a night in which the fans run on until the soil has fallen by a stated amount.
type spell struct {
	from, to time.Time
	soilC    float64
	fallK    float64
	told     learn.Left
	reached  bool
}

// draining lives as its class does, but lets the fans run on through some cold nights of the counted
// year.
type draining struct {
	*class
	spells []spell
	on     bool
}

func (d *draining) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	stages, doing := d.class.Decide(raw, now)
	sample := d.sample(raw, now)
	air, soil := float64(sample.Air.C), float64(sample.Stores[0].Between.C)
	if d.on {
		at := &d.spells[len(d.spells)-1]
		at.to, at.reached = now, soil <= at.soilC-at.fallK
		d.on = !at.reached && air < soil-2 // until the sun warms the house
	} else if d.ready(now) && sample.Dark && air < 6 && soil > 9.5 {
		d.begin(&sample, now)
	}
	if d.on {
		stages[0][0] = 1
		d.last = stages
	}
	return stages, doing
}

// ready is an evening of the counted year, a week after the last.
func (d *draining) ready(now time.Time) bool {
	if now.Hour() < 18 || d.steps < 365*288 {
		return false
	}
	return len(d.spells) == 0 || now.Sub(d.spells[len(d.spells)-1].to) > 7*24*time.Hour
}

func (d *draining) begin(sample *learn.Sample, now time.Time) {
	falls := [...]float64{0.5, 1, 2}
	u, b := d.pupils[0], &sample.Stores[0]
	fallK := falls[len(d.spells)%len(falls)]
	what := learn.Now{Setpoint: 5.5, NightS: 12 * 3600, Low: learn.Low{Temp: known(-50), Origin: learn.Typed}}
	what.Stores[0] = learn.StoreNow{Soil: b.Between, Root: b.Root, Useful: b.Between.C - unitC(fallK)}
	told := u.p.Tonight(u.s, &what).Stores[0]
	d.spells = append(d.spells, spell{from: now, to: now, soilC: float64(b.Between.C), fallK: fallK, told: told})
	d.on = true
}

// heatKWh is what the simulated fans brought up in the spell.
func (s *spell) heatKWh(r *trial.Result) (kWh float64) {
	for i := range r.Trace {
		end := r.Trace[i].Time
		from, to := end.Add(-time.Hour), end
		if s.from.After(from) {
			from = s.from
		}
		if s.to.Before(to) {
			to = s.to
		}
		if to.After(from) {
			kWh -= r.Trace[i].HeatKWh * to.Sub(from).Hours()
		}
	}
	return kWh
}

// TestTheStoreGivesInANightWhatIsTold: in nights of a winter, of two where there is time, the fans of a
// simulated house run on until its soil is half a kelvin, one and two cooler. What they bring up until
// then and how long that takes is what was told at the night's beginning.
func TestTheStoreGivesInANightWhatIsTold(t *testing.T) {
	if testing.Short() {
		t.Skip("lives through years")
	}
	var heat, hours share
	names := []string{"USA_CO_Golden-NREL.724666_TMY3.epw.gz"}
	if os.Getenv("LOAMBANK_TEST_LONG") != "" {
		names = append(names, richmond)
	}
	for _, name := range names {
		y := climate(t, name)
		s := farm(t, y, `flow_is = "catalogue"`, `flow_is = "measured"`)
		d := &draining{class: newClass(s)}
		d.pupils = []*pupil{newPupil(d.h, 0)}
		r := traced(t, s, y, d)
		for i := range d.spells {
			at := &d.spells[i]
			if !at.reached {
				continue
			}
			kWh, h := at.heatKWh(r), at.to.Sub(at.from).Hours()
			t.Logf("%.12s %s: soil fell by %.1f K in %.1f h, told %.1f, and gave %.1f kWh, told %.1f ± %.1f", name, at.from.Format("Jan 2 15:04"), at.fallK, h, at.told.HoursLeft, kWh, at.told.UsefulKWh, 2*at.told.UsefulSE)
			heat.add(math.Abs(kWh-at.told.UsefulKWh) <= 2*at.told.UsefulSE)
			hours.add(math.Abs(math.Log(h/at.told.HoursLeft)) <= math.Log(1.5))
			if 2*at.told.UsefulSE > 0.75*at.told.UsefulKWh {
				t.Errorf("± %.1f of %.1f kWh says little", 2*at.told.UsefulSE, at.told.UsefulKWh)
			}
		}
	}
	heat.wantMost(t, "useful heat")
	hours.wantMost(t, "hours left, to a half")
	if heat.of < 10 {
		t.Errorf("only %d nights", heat.of)
	}
}

// traced lives as live does and notes each hour.
func traced(t testing.TB, s *config.Settings, y *weather.Year, r trial.Rule) *trial.Result {
	t.Helper()
	p, laid := plant(t, s, y)
	return p.Run(laid, r, true, nil)
}
