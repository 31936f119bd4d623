package tune

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/decide"
	"loambank/controller/trial"
)

// bowl stands for living through years: cost and risk pull the setpoint (axis 0) and the margin
// (axis 5) to different places.
func bowl(points []Point) (all []Trial, err error) {
	for _, p := range points {
		x, y := float64(p[0]), float64(p[5])
		o := Outcome{Cost: (x+3)*(x+3) + y*y, RiskH: max(0, 6-x)}
		all = append(all, Trial{Point: slices.Clone(p), Years: []Outcome{o, o}})
	}
	return all, nil
}

func study() *Study { return &Study{Schema: 1, Of: "test", Seeds: []uint64{1, 2}} }

func TestThePriceOfRiskMovesTheAnswer(t *testing.T) {
	settings := farm(t, "example.toml")
	sp := NewSpace(settings, &settings.Houses[0])
	s := study()
	for _, c := range []struct {
		riskCost float64
		setpoint int // least of (x+3)² + riskCost·(6 − x)
	}{{0, -3}, {4, -1}, {10, 2}} {
		if err := s.Search(sp, Job{RiskCost: c.riskCost}, 300, bowl); err != nil {
			t.Fatal(err)
		}
		if got := s.Best(c.riskCost).Point; got[0] != c.setpoint || got[5] != 0 {
			t.Errorf("at %g an hour: setpoint %+d, margin %+d, want %+d and 0", c.riskCost, got[0], got[5], c.setpoint)
		}
	}
	front := s.Front()
	for i := 1; i < len(front); i++ {
		a, b := front[i-1].Mean(), front[i].Mean()
		if a.Cost >= b.Cost || a.RiskH <= b.RiskH {
			t.Errorf("the front has %+v before %+v", a, b)
		}
	}
	if len(front) < 4 {
		t.Errorf("the front has %d points", len(front))
	}
}

func TestAnInterruptedSearchGoesOnWhereItStood(t *testing.T) {
	settings := farm(t, "example.toml")
	sp := NewSpace(settings, &settings.Houses[0])
	job := Job{RiskCost: 4}
	whole := study()
	if err := whole.Search(sp, job, 200, bowl); err != nil {
		t.Fatal(err)
	}
	stop := errors.New("stopped")
	part, lived := study(), 0
	err := part.Search(sp, job, 200, func(points []Point) ([]Trial, error) {
		all, _ := bowl(points)
		if lived += len(points); lived > 60 {
			return all[:1], stop
		}
		return all, nil
	})
	if !errors.Is(err, stop) {
		t.Fatalf("ends with %v", err)
	}
	known := len(part.Trials)
	if err := part.Search(sp, job, 200, func(points []Point) ([]Trial, error) {
		for _, p := range points {
			if part.find(p) != nil {
				t.Errorf("%v is lived through again", p)
			}
		}
		return bowl(points)
	}); err != nil {
		t.Fatal(err)
	}
	if known == 0 || known >= len(whole.Trials) {
		t.Fatalf("%d of %d trials were kept", known, len(whole.Trials))
	}
	if diff := cmp.Diff(whole.Best(4), part.Best(4)); diff != "" {
		t.Error(diff)
	}
}

func TestOnlyPartsOfOneStudyAreJoined(t *testing.T) {
	settings := farm(t, "example.toml")
	sp := NewSpace(settings, &settings.Houses[0])
	jobs := Jobs(0.1, 2, 7)
	whole, a, b := study(), study(), study()
	for i, j := range jobs {
		part := a
		if i%2 == 1 {
			part = b
		}
		for _, s := range []*Study{whole, part} {
			if err := s.Search(sp, j, 100, bowl); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := a.Join(b); err != nil {
		t.Fatal(err)
	}
	for _, j := range jobs {
		if x, y := j.score(whole.Best(j.RiskCost)), j.score(a.Best(j.RiskCost)); y > x+1e-9 {
			t.Errorf("at %g an hour the parts find %g, the whole %g", j.RiskCost, y, x)
		}
	}
	n := len(a.Trials)
	if err := a.Join(b); err != nil || len(a.Trials) != n {
		t.Errorf("joined twice: %d trials, then %d, %v", n, len(a.Trials), err)
	}
	for what, other := range map[string]*Study{
		"other settings": {Schema: 1, Of: "other", Seeds: a.Seeds},
		"other years":    {Schema: 1, Of: "test", Seeds: []uint64{1, 3}},
		"a newer form":   {Schema: 2, Of: "test", Seeds: a.Seeds},
		"a missing year": {Schema: 1, Of: "test", Seeds: a.Seeds, Trials: []Trial{{Point: Point{9}, Years: make([]Outcome, 1)}}},
	} {
		if a.Join(other) == nil {
			t.Errorf("%s is joined", what)
		}
	}
}

func TestNoMoreTrialsThanAsked(t *testing.T) {
	settings := farm(t, "example.toml")
	sp := NewSpace(settings, &settings.Houses[0])
	for _, most := range []int{1, 2, 17, 40} {
		s := study()
		if err := s.Search(sp, Job{RiskCost: 4}, most, bowl); err != nil || len(s.Trials) > most {
			t.Errorf("%d trials of %d, %v", len(s.Trials), most, err)
		}
	}
}

func TestGains(t *testing.T) {
	years := func(costs ...float64) *Trial {
		s := &Trial{}
		for _, c := range costs {
			s.Years = append(s.Years, Outcome{Cost: c, RiskH: 1})
		}
		return s
	}
	// Differences 2, 4, 6: mean 4, standard deviation 2; 4.303 · 2 / √3 = 4.969 (NIST 1.3.6.7.2).
	g := GainOver(years(10, 10, 10), years(12, 14, 16), 3)
	if math.Abs(g.Mean-4) > 1e-12 || math.Abs(g.Spread-4.969) > 1e-3 || g.Certain() {
		t.Errorf("%+v", g)
	}
	// Differences 4, 5, 6: mean 5, 4.303 · 1 / √3 = 2.484.
	if g = GainOver(years(10, 10, 10), years(14, 15, 16), 3); math.Abs(g.Mean-5) > 1e-12 || math.Abs(g.Spread-2.484) > 1e-3 || !g.Certain() {
		t.Errorf("%+v", g)
	}
	if g = GainOver(years(1), years(100), 0); g.Certain() || g.Mean != 99 {
		t.Errorf("one year is certain: %+v", g)
	}
	safer := &Trial{Years: []Outcome{{Cost: 10}, {Cost: 10}}}
	if g = GainOver(safer, years(10, 10), 3); g.Mean != 3 {
		t.Errorf("an hour of risk at 3 less: %+v", g)
	}
}

func TestWhatAYearCameTo(t *testing.T) {
	r := &trial.Result{}
	m := &r.Months[3]
	m.StateS[decide.Charge], m.StateS[decide.Frost], m.StateS[decide.Rest] = 7200, 3600, 9e5
	m.StateS[decide.Hold], m.StateS[decide.Hand] = 5e5, 5e5
	m.Electricity, m.Fuel, m.FanKWh, m.FrostS, m.Low = 3, 40, 17, 1800, -2
	for i := range r.Months {
		if i != 3 {
			r.Months[i].Low = 5
		}
	}
	if got, want := OutcomeOf(r, true), (Outcome{Cost: 43, RiskH: 0.5, FanH: 3, LowC: -2}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := OutcomeOf(r, false).Cost; got != 17 {
		t.Errorf("without prices the cost is %v kWh", got)
	}
}
