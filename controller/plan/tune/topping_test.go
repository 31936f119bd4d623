package tune

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/physics"
	"loambank/controller/season"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

func TestToppingUpBeginsWhereFromThenOnItEarnsMost(t *testing.T) {
	// A week that puts 10 kWh down for each of electricity and needs 1 spared: 0.1 breaks even.
	week := func(spared float64) Week { return Week{Spared: spared, PerKWh: 10, Needs: 1, Hours: 5, FanKWh: 3} }
	idle := Week{Spared: 0.5}
	for _, c := range []struct {
		name  string
		weeks []Week
		first int
		ok    bool
	}{
		{"from the first on", []Week{week(0.2), week(0.4)}, 0, true},
		{"where it begins to pay", []Week{week(0.01), week(0.05), week(0.2), week(0.4)}, 2, true},
		{"at the break-even itself", []Week{week(0.01), week(0.1), week(0.4)}, 2, true},
		{"one good week long before is not waited for", []Week{week(0.12), week(0.01), week(0.01), week(0.3)}, 3, true},
		{"one poor week between does not end it", []Week{week(0.01), week(0.3), week(0.09), week(0.4)}, 1, true},
		{"not in a week without an hour for it", []Week{week(0.01), idle, week(0.3), idle}, 2, true},
		{"nowhere", []Week{week(0.01), week(0.09), idle}, 0, false},
		{"in no week", nil, 0, false},
	} {
		if first, ok := ToppingUp(c.weeks, true); first != c.first || ok != c.ok {
			t.Errorf("%s: %d %v, want %d %v", c.name, first, ok, c.first, c.ok)
		}
	}
	if even := week(0.1); !even.Pays() {
		t.Error("at the break-even it does not pay")
	}
	for _, c := range []struct {
		name   string
		spared []float64
		first  int
		ok     bool
	}{
		{"from a tenth of the best on", []float64{0.01, 0.04, 0.05, 0.2, 0.5}, 2, true},
		{"without a break after it", []float64{0.06, 0.04, 0.07, 0.5}, 2, true},
		{"from the first on", []float64{0.3, 0.5}, 0, true},
		{"not in a week without an hour for it", []float64{-0.3, 0.4, 0.5}, 1, true},
		{"nowhere where heat spares no frost", []float64{0, 0, 0}, 0, false},
	} {
		var weeks []Week
		for _, s := range c.spared {
			w := week(math.Abs(s))
			if s < 0 {
				w.Hours = 0
			}
			weeks = append(weeks, w)
		}
		if first, ok := ToppingUp(weeks, false); first != c.first || ok != c.ok {
			t.Errorf("unheated, %s: %d %v, want %d %v", c.name, first, ok, c.first, c.ok)
		}
	}
}

// TestAWeekCountsTheHoursInWhichItsMarginIsMet, at their prices: an evening at 0.29 $, a Sunday noon at 0.17.
func TestAWeekCountsTheHoursInWhichItsMarginIsMet(t *testing.T) {
	s := farm(t, "example.toml")
	d := &s.Houses[0].House.Decide
	p := &d.Policies[0]
	soil := unit.Celsius(18)
	at := func(hour int, air unit.Celsius) trial.Hour { // Monday, 8 October 2001, in New York
		return trial.Hour{Time: time.Date(2001, time.October, 8, hour+4, 0, 0, 0, time.UTC).In(s.Site.Zone), Air: air, Soil: soil, Vapour: 0.006}
	}
	met := soil.Add(p.Stores[0].Margin + 0.01)
	cold := at(14, p.ChargeFloor) // the soil is far colder, and the crop needs the heat
	cold.Soil = p.ChargeFloor.Add(-2 * p.Stores[0].Margin)
	// Each hour is named by its end: the first begins on the 7th, and that to 16:00 before the evening's price.
	hours := []trial.Hour{at(0, soil.Add(p.Stores[0].Margin-0.1)), cold, at(16, met), at(18, met), at(19, 2)}
	w := weekOf(d, hours)
	x := physics.Exchange(physics.Air{C: met, W: 0.006}, 2800*0.0004719474/2, d.Stores[0].Effectiveness, soil, d.PressurePa)
	perKWh, needs := x.TotalW()/600, (0.17+0.29)/2/d.Tariff.FuelHeatPerKWh
	if w.Hours != 2 || math.Abs(w.PerKWh-perKWh) > 1e-6*perKWh || math.Abs(w.Needs-needs) > 1e-9 || w.Begins != (season.MonthDay{Month: time.October, Day: 7}) {
		t.Errorf("%+v, want 2 hours of %v for a kWh and %v spared", w, perKWh, needs)
	}
	d.Tariff.HasFuel = false
	if w = weekOf(d, hours); w.Needs != d.MinRatio {
		t.Errorf("without a price of fuel it needs %v, want %v", w.Needs, d.MinRatio)
	}
	d.Tariff.HasFuel, d.Tariff.FuelHeatPerKWh = true, 0
	if w = weekOf(d, hours); w.Needs != d.MinRatio {
		t.Errorf("with fuel for nothing it needs %v, want %v", w.Needs, d.MinRatio)
	}
	if none := weekOf(d, hours[:1]); none.Hours != 0 || none.PerKWh != 0 || none.Needs != 0 || none.Pays() {
		t.Errorf("a week whose margin is never met: %+v", none)
	}
}

// scripted is a rule whose fans have done every thing of a list, one a step, and begin anew at its end.
type scripted struct {
	step int
	all  []did
}

func (s *scripted) Decide([]judge.Raw, time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	d := s.all[s.step%len(s.all)]
	s.step++
	return d.stages, d.doing
}

// fansDo are things that fans do: at rest, charging, the same at another speed, the same for a person.
func fansDo() *scripted {
	all := make([]did, 8)
	for i, d := range all {
		if i > 1 {
			d.stages[0][0], d.doing[0] = 1, decide.Charge
		}
		if i > 3 {
			d.stages[0][0] = 2
		}
		if i > 5 {
			d.doing[0] = decide.Hand
		}
		all[i] = d
	}
	return &scripted{all: all}
}

// TestWhatWasNotedIsDoneAgain, step by step, and noted only where it changes.
func TestWhatWasNotedIsDoneAgain(t *testing.T) {
	ran := &record{rule: fansDo()}
	for range 24 {
		ran.Decide(nil, time.Time{})
	}
	if len(ran.all) != 12 || ran.all[0].from != 0 || ran.all[1].from != 2 || ran.all[11].from != 22 {
		t.Errorf("%d changes are noted, the last from %d on, want 12 and 22", len(ran.all), ran.all[len(ran.all)-1].from)
	}
	same, want := &warmed{ran: ran}, fansDo()
	for step := range 24 {
		stages, doing := same.Decide(nil, time.Time{})
		if s, d := want.Decide(nil, time.Time{}); stages != s || doing != d {
			t.Errorf("step %d: %v %v, want %v %v", step, stages[0][0], doing[0], s[0][0], d[0])
		}
	}
}

// TestAWeeksWorthIsWhatItsHeatSpares on invented years of three weeks: heat goes in for the week, in the
// second time through, and what heater or frost has less of is divided by it.
func TestAWeeksWorthIsWhatItsHeatSpares(t *testing.T) {
	c := climateOf(t, "USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz")
	plant, err := trial.NewPlant(c.h, c.ground, trial.SettleDay(c.h), trial.StepS)
	if err != nil {
		t.Fatal(err)
	}
	areaM2 := plant.Warm(1)
	const stepsOfWeek = 7 * 24 * 3600 / trial.StepS
	begin := time.Date(2001, time.July, 1, 0, 0, 0, 0, time.UTC)
	year := func(heaterKWh, frostKS float64) *trial.Result {
		r := &trial.Result{Trace: make([]trial.Hour, 3*7*24)}
		for i := range r.Trace {
			r.Trace[i].Time = begin.Add(time.Duration(i+1) * time.Hour)
		}
		r.Months[3].HeaterKWh, r.Months[5].FrostKS = heaterKWh, frostKS
		return r
	}
	live := func(rules []func(*trial.Plant) trial.Rule) (years []*trial.Result, err error) {
		if ran, first := rules[0](plant).(*record); first {
			ran.rule = fansDo()
			ran.Decide(nil, time.Time{})
			return []*trial.Result{year(1100, 99000)}, nil // not what is compared: its heater has a band
		}
		years = append(years, year(1000, 72000))
		if still := rules[0](plant).(*warmed); still.from != still.to {
			t.Errorf("the year to compare with is heated from step %d to %d", still.from, still.to)
		}
		for i, week := range []int{0, 2} {
			w := rules[i+1](plant).(*warmed)
			var heated []int
			for step := range 2 * 3 * stepsOfWeek {
				was := w.heatJ
				if w.Decide(nil, time.Time{}); w.heatJ > was {
					heated = append(heated, step)
				}
			}
			if n := len(heated); n != stepsOfWeek || heated[0] != (3+week)*stepsOfWeek || heated[n-1] != (4+week)*stepsOfWeek-1 {
				t.Errorf("week %d is heated in %d steps, %v", week, n, heated[:min(1, n)])
			}
			years = append(years, year(940, 36000))
		}
		return years, nil
	}
	const heatKWhM2 = 1
	for _, heated := range []bool{true, false} {
		c.h.House.Decide.Heater.Present = heated
		want := 60 / (heatKWhM2 * areaM2) // kWh for each kWh
		if !heated {
			want = 10 / (heatKWhM2 * areaM2) // K h
		}
		weeks, err := Worth(c.h, []int{0, 2}, live)
		if err != nil {
			t.Fatal(err)
		}
		for i, day := range []int{1, 15} {
			if w := weeks[i]; math.Abs(w.Spared-want) > 1e-9*want || w.Begins != (season.MonthDay{Month: time.July, Day: day}) {
				t.Errorf("heated %v: %+v, want %v spared from 1 and 15 July on", heated, w, want)
			}
		}
	}
	stopped := errors.New("stopped")
	for stopAt := range 2 {
		calls := 0
		_, err := Worth(c.h, []int{0, 2}, func(rules []func(*trial.Plant) trial.Rule) ([]*trial.Result, error) {
			if calls++; calls > stopAt {
				return nil, stopped
			}
			return live(rules)
		})
		if !errors.Is(err, stopped) {
			t.Errorf("stopped after %d of two rounds: %v", stopAt, err)
		}
	}
}

// TestTheSameFansWithoutHeatLiveTheSameYear: what was noted is done again to the step.
func TestTheSameFansWithoutHeatLiveTheSameYear(t *testing.T) {
	if testing.Short() {
		t.Skip("it lives through four years")
	}
	c := climateOf(t, "USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz")
	ran := &record{rule: trial.NewConfigured(&c.h.House)}
	plain, err := c.live([]func(*trial.Plant) trial.Rule{func(*trial.Plant) trial.Rule { return ran }})
	if err != nil {
		t.Fatal(err)
	}
	same := &warmed{ran: ran}
	next, err := c.live([]func(*trial.Plant) trial.Rule{func(*trial.Plant) trial.Rule { return same }})
	if err != nil || same.heatJ != 0 {
		t.Fatal(err, same.heatJ)
	}
	if diff := cmp.Diff(plain[0].Total(), next[0].Total()); diff != "" || plain[0].Total().FanKWh == 0 {
		t.Errorf("the same fans, another year:\n%s", diff)
	}
}

// TestWhatHeatSparesIsInProportion: half and twice a week's heat spare as much for each kWh, in a house whose
// heater works hard and in one where it seldom does.
func TestWhatHeatSparesIsInProportion(t *testing.T) {
	if testing.Short() {
		t.Skip("it lives through eight years")
	}
	for name, oldnew := range map[string][]string{
		"kept from frost": nil,
		"kept warm":       {`setpoint = "38 °F"`, `setpoint = "50 °F"`, `setpoint = "42 °F"`, `setpoint = "54 °F"`},
	} {
		c := climateOf(t, burlington, oldnew...)
		ran := &record{rule: trial.NewConfigured(&c.h.House)}
		plain, err := c.live([]func(*trial.Plant) trial.Rule{func(*trial.Plant) trial.Rule { return ran }})
		if err != nil {
			t.Fatal(err)
		}
		from := len(plain[0].Trace) + 15*weekHours
		half, twice := again(ran, from, from+weekHours, 0.5), again(ran, from, from+weekHours, 2)
		years, err := c.live([]func(*trial.Plant) trial.Rule{again(ran, 0, 0, 0).in, half.in, twice.in})
		if err != nil {
			t.Fatal(err)
		}
		spared := func(i int, w *warmed) float64 {
			was, now := years[0].Total(), years[i].Total()
			return (was.HeaterKWh - now.HeaterKWh) * jPerKWh / w.heatJ
		}
		a, b := spared(1, half), spared(2, twice)
		t.Logf("%s: of each kWh %.4f are spared by half, %.4f by twice as much", name, a, b)
		if !(a > 0.03 && math.Abs(a/b-1) < 0.05) {
			t.Errorf("%s: of each kWh %.4f are spared by half, %.4f by twice as much", name, a, b)
		}
	}
}

// TestColdClimatesAskForHeatEarlier in the example farm, with the frosts of each weather file. Common practice,
// no source: nowhere in summer; mid-September in temperate climates, earlier where it is colder, later in
// the south. Here the house heated over 3 °C asks a month later than that; one kept warm asks in September.
func TestColdClimatesAskForHeatEarlier(t *testing.T) {
	if testing.Short() {
		t.Skip("it lives through twenty years")
	}
	warm := []string{`setpoint = "38 °F"`, `setpoint = "50 °F"`, `setpoint = "42 °F"`, `setpoint = "54 °F"`}
	for _, c := range []struct {
		name, file string
		oldnew     []string
		want       [4]bool // in the weeks of 29 July, 23 September, 14 October and 18 November
	}{
		{"cold", burlington, nil, [4]bool{false, false, true, false}}, // too dull for an hour of it in November
		{"cold, kept warm", burlington, warm, [4]bool{false, true, true, false}},
		{"mild", "USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz", nil, [4]bool{false, false, false, true}},
	} {
		l := climateOf(t, c.file, c.oldnew...)
		all, err := Worth(l.h, []int{4, 12, 15, 20}, l.live)
		if err != nil {
			t.Fatal(err)
		}
		for i := range all {
			w := &all[i]
			t.Logf("%s, week of %v: %.3f spared of a kWh, %.1f kWh put down for one in %d h, needs %.2f", c.name, w.Begins, w.Spared, w.PerKWh, w.Hours, w.Needs)
			if w.Pays() != c.want[i] {
				t.Errorf("%s: in the week of %v charging pays: %v", c.name, w.Begins, w.Pays())
			}
		}
	}
}

// TestToppingUpByClimate asks every week of every weather file, where LONG_YEARS is set.
func TestToppingUpByClimate(t *testing.T) {
	if os.Getenv("LONG_YEARS") == "" {
		t.Skip("it lives through a hundred and sixty years")
	}
	var weeks []int
	for i := range Weeks {
		weeks = append(weeks, i)
	}
	last := -1
	for _, file := range []string{ // the order of their first need of a heater
		burlington, "USA_CO_Golden-NREL.724666_TMY3.epw.gz", "tmy_45.000_8.000_2005_2023.epw.gz",
		"USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz", "723170TYA.CSV.gz", "USA_WA_Tacoma.Narrows.AP.727938_TMY3.epw.gz",
	} {
		l := climateOf(t, file)
		all, err := Worth(l.h, weeks, l.live)
		if err != nil {
			t.Fatal(err)
		}
		first, ok := ToppingUp(all, true)
		if !ok {
			first = Weeks // hardly ever
		}
		t.Logf("%s: from week %d on, %v", file, first, ok)
		for i := range all {
			w := &all[i]
			t.Logf("  week of %v: %.3f spared of a kWh, %.1f kWh put down for one in %d h, needs %.2f", w.Begins, w.Spared, w.PerKWh, w.Hours, w.Needs)
		}
		if first < last || first < 9 {
			t.Errorf("%s asks from week %d on, a colder one from %d", file, first, last)
		}
		last = first
	}
}

// climate is the example farm where a weather file was made.
type climate struct {
	h      *config.House
	laid   *trial.Year
	ground physics.GroundWave
}

func climateOf(t *testing.T, name string, oldnew ...string) *climate {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "weather", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	y, err := weather.Read(name, f)
	if err != nil {
		t.Fatal(err)
	}
	s := settled(t, y, oldnew...)
	c := &climate{h: &s.Houses[0]}
	if c.laid, err = trial.Lay(y, s.Site.Zone); err != nil {
		t.Fatal(err)
	}
	if c.ground, err = trial.Ground(y); err != nil {
		t.Fatal(err)
	}
	return c
}

// live lives through the year on all cores.
func (c *climate) live(rules []func(*trial.Plant) trial.Rule) ([]*trial.Result, error) {
	years, faults := make([]*trial.Result, len(rules)), make([]error, len(rules))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var group sync.WaitGroup
	for i, rule := range rules {
		slots <- struct{}{}
		group.Go(func() {
			defer func() { <-slots }()
			plant, err := trial.NewPlant(c.h, c.ground, trial.SettleDay(c.h), trial.StepS)
			if faults[i] = err; err == nil {
				years[i] = plant.Run(c.laid, rule(plant), true, nil)
			}
		})
	}
	group.Wait()
	return years, errors.Join(faults...)
}

// settled is the example farm where a weather file was made, with a heater that holds it and fans that
// were measured, free to charge from summer on; then with text changed.
func settled(t *testing.T, y *weather.Year, oldnew ...string) *config.Settings {
	t.Helper()
	first, last := frosts(y)
	text := string(farm(t, "example.toml").Source)
	return replaced(t, text, append([]string{
		`latitude = 43.1, longitude = -75.2, elevation = "480 ft"`, fmt.Sprintf(`latitude = %g, longitude = %g, elevation = "%g m"`, y.LatitudeDeg, y.LongitudeDeg, y.ElevationM),
		`first_frost = "10-05", last_frost = "05-12"`, fmt.Sprintf("first_frost = %q, last_frost = %q", first, last),
		`"catalogue"`, `"measured"`, `"60 kBtu/h"`, `"150 kBtu/h"`,
		`"09-15..10-31"`, `"07-01..10-31"`, `"06-01..08-31"`, `"06-01..06-30"`,
	}, oldnew...))
}

// replaced reads settings with each text exchanged that must be there.
func replaced(t *testing.T, text string, oldnew []string) *config.Settings {
	t.Helper()
	for i := 0; i+1 < len(oldnew); i += 2 {
		if !strings.Contains(text, oldnew[i]) {
			t.Fatalf("the example says %s no more", oldnew[i])
		}
		text = strings.Replace(text, oldnew[i], oldnew[i+1], 1)
	}
	s, err := config.Parse("farm.toml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// frosts are the first and the last day of frost of the winter in a weather file, MM-DD.
func frosts(y *weather.Year) (first, last string) {
	for i := range y.Rows {
		r := &y.Rows[i]
		if r.DryBulb > 0 {
			continue
		}
		date := fmt.Sprintf("%02d-%02d", int(r.Month), r.Day)
		if r.Month < time.July {
			last = date
		} else if first == "" {
			first = date
		}
	}
	return first, last
}
