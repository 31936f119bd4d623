package controller

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/lesson"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

// boarder runs a house's policy as the board does, learns, tells what it saves, keeps both as often as
// a keeper does, and is killed now and then.
type boarder struct {
	t     *testing.T
	r     *runner
	steps int
	rng   *rand.Rand
	kills int
	ended map[string]ledger.Saving // months as they stood when the next began

	ledger, learned []byte // on the disk
}

func newBoarder(t *testing.T, h *config.House, s *config.Settings) *boarder {
	g := &boarder{t: t, rng: rand.New(rand.NewPCG(1, 2)), ended: map[string]ledger.Saving{}}
	g.r = &runner{
		s: h, board: &board{clock: Scaled(1, from)}, turn: s.Turn, currency: s.Currency, learns: lesson.Settings(h),
		house: house.New(&h.House, house.State{}), account: ledger.New(h.House.Name, &h.House.Decide), inForce: decide.Decision{Window: -1},
	}
	return g
}

// Decide is one tick.
func (g *boarder) Decide(raw []judge.Raw, now time.Time) (stages trial.Stages, doing [decide.MaxStores]decide.Activity) {
	r, stepS := g.r, 0.0
	if g.steps > 0 {
		stepS = trial.StepS
	}
	result := r.house.Tick(house.Seen{StepS: stepS, Believed: true, Raw: raw}, now)
	r.account.Add(&r.s.House.Decide, &result.Inputs, &r.inForce, stepS)
	r.learn(&result, stepS)
	before := r.savings.now(r.account)[ledger.Month]
	r.tellSaved(result.Decision.Prices, now)
	if r.savings.begins[ledger.Month] != before.Begin {
		g.ended[before.Begin] = before
	}
	r.inForce = result.Decision
	g.keep()
	for i := range result.Decision.Stores {
		stages[i], doing[i] = result.Decision.Stores[i].Stages, result.Decision.Stores[i].State
	}
	return stages, doing
}

// keep writes as a keeper does, and kills the program about every ten days. The house goes on meanwhile:
// what its fans do is no part of what is told here.
func (g *boarder) keep() {
	var err error
	if g.ledger, err = json.Marshal(g.r.account); err != nil {
		g.t.Fatal(err)
	}
	if g.steps%12 == 0 {
		if g.learned, err = json.Marshal(g.r.know()); err != nil {
			g.t.Fatal(err)
		}
	}
	g.steps++
	if g.rng.IntN(2880) > 0 {
		return
	}
	g.kills++
	var l learned
	account := new(ledger.House)
	if err := json.Unmarshal(g.learned, &l); err != nil {
		g.t.Fatal(err)
	}
	if err := json.Unmarshal(g.ledger, account); err != nil {
		g.t.Fatal(err)
	}
	g.r.account, g.r.learnt, g.r.savings = account, l.of(g.r.s), savings{marks: l.Saving}
}

// TestSavedMonthsAreTrueAcrossRestarts lives through a typical year twice, with the fans of the example
// farm and with none: what the heater gave less is the truth of each month. What the ledger has kept of
// them must hold it within ± in nine of ten, though the program was killed between.
func TestSavedMonthsAreTrueAcrossRestarts(t *testing.T) {
	if testing.Short() {
		t.Skip("lives through years")
	}
	text, err := os.ReadFile("../testdata/config/example.toml")
	if err != nil {
		t.Fatal(err)
	}
	const root = `    { role = "soil", place = "root", depth = "5 in", driver = "ds18b20", id = "28-0000075a1c03" },`
	s, err := config.Parse("farm.toml", []byte(strings.NewReplacer(
		`flow_is = "catalogue"`, `flow_is = "measured"`,
		root, root+`
    { role = "duct-in", driver = "file", path = "a" }, { role = "duct-out", driver = "file", path = "b" },`,
		`{ role = "outside"`, `{ role = "heater-on", driver = "file", path = "e" }, { role = "outside"`,
	).Replace(string(text))), nil)
	if err != nil {
		t.Fatal(err)
	}
	const path = "../testdata/weather/USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz"
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	y, err := weather.Read(path, f)
	if err != nil {
		t.Fatal(err)
	}
	live := func(r trial.Rule) *trial.Result {
		ground, err := trial.Ground(y)
		if err != nil {
			t.Fatal(err)
		}
		p, err := trial.NewPlant(&s.Houses[0], ground, trial.SettleDay(&s.Houses[0]), trial.StepS)
		if err != nil {
			t.Fatal(err)
		}
		laid, err := trial.Lay(y, s.Site.Zone)
		if err != nil {
			t.Fatal(err)
		}
		return p.Run(laid, r, false, nil)
	}
	g := newBoarder(t, &s.Houses[0], s)
	with, less := live(g), live(trial.Never{})
	saved := &g.r.account.Saved
	hit, winter, winterHit, sum, spread, season := 0, 0, 0, 0.0, 0.0, 0.0
	for i := range with.Months {
		m := &with.Months[i]
		begin := time.Date(2002, time.July+time.Month(i), 1, 0, 0, 0, 0, time.UTC)
		told := saved.Find(ledger.Month, begin.Format(time.DateOnly))
		if told == nil || begin.Month() != m.Month || !told.Claimed() {
			t.Fatalf("of the month from %v is told %+v", begin, told)
		}
		truth := less.Months[i].HeaterKWh - m.HeaterKWh
		sum, spread = sum+truth, spread+told.Energy.SpreadKWh
		if i > 1 { // from September on; until the topping-up date nothing is saved
			season += truth
		}
		within := math.Abs(truth-told.Energy.HeatKWh) <= told.Energy.SpreadKWh+0.5
		if within {
			hit++
		} else {
			t.Logf("%v: saved %.0f kWh, told %.0f ± %.0f", m.Month, truth, told.Energy.HeatKWh, told.Energy.SpreadKWh)
		}
		if truth > 20 {
			winter++
			if within {
				winterHit++
			}
		}
		// A kill loses an hour of learning at most, of which there are some two in a month.
		if e := told.Energy.ElectricityKWh; math.Abs(e-m.FanKWh) > 4+0.02*m.FanKWh {
			t.Errorf("%v: the fans drew %.1f kWh, told are %.1f", m.Month, m.FanKWh, e)
		}
		if math.Abs(told.ElectricityMoney-m.Electricity) > 0.6+0.02*m.Electricity {
			t.Errorf("%v: the fans cost %.2f, told are %.2f", m.Month, m.Electricity, told.ElectricityMoney)
		}
		if diff := cmp.Diff(g.ended[told.Begin], *told); diff != "" {
			t.Errorf("%v is not as it was told at its end:\n%s", m.Month, diff)
		}
	}
	t.Logf("%d kills; the truth lies within ± in %d of 12 months, of those with over 20 kWh in %d of %d; saved %.0f kWh, ± %.0f", g.kills, hit, winterHit, winter, sum, spread)
	if hit < 11 || winterHit*10 < winter*9 || winter < 4 || spread > 0.75*sum {
		t.Error("too few months, or too wide a ±")
	}
	if g.kills < 20 {
		t.Errorf("%d kills prove nothing", g.kills)
	}
	if s := saved.Find(ledger.Season, "2002-09-10"); s == nil || math.Abs(s.Energy.HeatKWh-season) > s.Energy.SpreadKWh {
		t.Errorf("of the season, in which %.0f kWh were saved, is told %+v", season, s)
	}
}
