package tune

import (
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/season"
	"loambank/controller/tariff"
	"loambank/controller/trial"
)

// Week is a week of the year after which winter comes, and what charging in it is worth.
type Week struct {
	Begins season.MonthDay
	// Spared is what a kWh put into the stores in this week spares later: heat of the heater, kWh; in a
	// house without one, crop air under its frost limit, K h.
	Spared float64
	// Hours are those in which the settings' margin is met and the charge floor kept, FanKWh the electricity
	// of fans at full speed in them, and PerKWh the heat that they would put down for each kWh of it; all 0
	// where there are none.
	Hours          int
	FanKWh, PerKWh float64
	// Needs is how much of PerKWh must be spared later to pay: the price of the electricity in these hours
	// over that of the fuel's heat; without prices the settings' least ratio.
	Needs float64
}

// Pays reports whether charging in the week alone pays in a house with a heater.
func (w *Week) Pays() bool { return w.Hours > 0 && w.Spared*w.PerKWh >= w.Needs }

const (
	// Weeks is how many weeks from a trial's beginning on are asked of: to the turn of the year, by when
	// every store that is to be full is.
	Weeks = 26
	// sunnyKWhM2 is heat that some sunny hours of a week put under a m², at which the answer is in
	// proportion to it. Choice.
	sunnyKWhM2 = 1
	// worthwhile is the share of the best week's worth from which on charging is worth doing where no
	// money says so. Choice.
	worthwhile = 0.1

	jPerKWh   = 3.6e6
	weekHours = 7 * 24
	hourSteps = 3600 / trial.StepS
)

// Worth asks of weeks, counted from a trial's beginning, what heat put into the stores in each is worth
// later. The house lives through the year under its settings; then once more, and again for each week,
// with the fans running when they ran, and that week's heat put in besides. With fans that do alike the
// difference is what the heat itself does; at the best settings what fans would then do otherwise
// changes the worth only in the second order (envelope theorem). In these lives the heater is even:
// where in its thermostat's band a night ends is chance, and over a winter more than a week's heat
// spares.
//
// live lets the house live under rules, each of its own new plant, and returns their traced years; its
// error ends the work.
func Worth(h *config.House, weeks []int, live func([]func(*trial.Plant) trial.Rule) ([]*trial.Result, error)) ([]Week, error) {
	ran := &record{rule: trial.NewConfigured(&h.House)}
	years, err := live([]func(*trial.Plant) trial.Rule{func(*trial.Plant) trial.Rule { return ran }})
	if err != nil {
		return nil, err
	}
	plain := years[0]
	warmed := make([]*warmed, len(weeks))
	rules := []func(*trial.Plant) trial.Rule{again(ran, 0, 0, 0).in}
	for i, week := range weeks {
		from := len(plain.Trace) + week*weekHours // in the second year
		warmed[i] = again(ran, from, from+weekHours, sunnyKWhM2)
		rules = append(rules, warmed[i].in)
	}
	if years, err = live(rules); err != nil {
		return nil, err
	}
	all := make([]Week, len(weeks))
	for i, week := range weeks {
		all[i] = weekOf(&h.House.Decide, plain.Trace[week*weekHours:(week+1)*weekHours])
		was, now := years[0].Total(), years[i+1].Total()
		spared := was.HeaterKWh - now.HeaterKWh
		if !h.House.Decide.Heater.Present {
			spared = (was.FrostKS - now.FrostKS) / 3600
		}
		all[i].Spared = spared * jPerKWh / warmed[i].heatJ
	}
	return all, nil
}

// weekOf is a week by its hours.
func weekOf(d *decide.Settings, hours []trial.Hour) Week {
	begins := hours[0].Time.Add(-time.Hour)
	w := Week{Begins: season.MonthDay{Month: begins.Month(), Day: begins.Day()}}
	var heatKWh, cost float64
	for i := range hours {
		h := &hours[i]
		at := h.Time.Add(-time.Hour)
		window, _ := season.First(d.Season.Site, d.Season.Windows, at)
		p := &d.Policies[window+1]
		heat, fans := trial.Charge(d, h)
		if h.Air.Sub(h.Soil) < leastMargin(p) || h.Air <= p.ChargeFloor || !(heat > 0) {
			continue
		}
		prices, _ := tariff.At(d.Tariff, at)
		needs := d.MinRatio
		if prices.HasElectricity && prices.HasFuel && prices.FuelHeatPerKWh > 0 {
			needs = prices.ElectricityPerKWh / prices.FuelHeatPerKWh
		}
		w.Hours++
		heatKWh += heat
		w.FanKWh += fans
		cost += fans * needs
	}
	if w.FanKWh > 0 {
		w.PerKWh, w.Needs = heatKWh/w.FanKWh, cost/w.FanKWh
	}
	return w
}

// leastMargin is the least of the stores' margins.
func leastMargin(p *decide.Policy) unit.Kelvin {
	least := p.Stores[0].Margin
	for i := range p.Stores {
		least = min(least, p.Stores[i].Margin)
	}
	return least
}

// ToppingUp returns the number of the week from which on charging pays: the one from whose beginning to
// the end of the weeks it earns most in all. In a house without a heater no money is saved: it is the
// first week from which on a kWh is worth a tenth of what it is in the best. ok is false where charging
// pays in none.
func ToppingUp(weeks []Week, heated bool) (first int, ok bool) {
	if !heated {
		return firstWorthwhile(weeks)
	}
	most, sum := 0.0, 0.0
	for i := len(weeks) - 1; i >= 0; i-- {
		w := &weeks[i]
		if sum += w.FanKWh * (w.Spared*w.PerKWh - w.Needs); sum > most && w.Pays() {
			first, most, ok = i, sum, true
		}
	}
	return first, ok
}

func firstWorthwhile(weeks []Week) (first int, ok bool) {
	best := 0.0
	for i := range weeks {
		best = max(best, weeks[i].Spared)
	}
	for i := len(weeks) - 1; i >= 0 && best > 0; i-- {
		if weeks[i].Spared < worthwhile*best {
			break
		}
		if weeks[i].Hours > 0 {
			first, ok = i, true
		}
	}
	return first, ok
}

// record is a rule that notes when its fans did what.
type record struct {
	rule trial.Rule
	step int
	all  []did
}

// did is what fans do from a step on.
type did struct {
	from   int
	stages trial.Stages
	doing  [decide.MaxStores]decide.Activity
}

// Decide asks the rule.
func (r *record) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	d := did{from: r.step}
	d.stages, d.doing = r.rule.Decide(raw, now)
	if n := len(r.all); n == 0 || r.all[n-1].stages != d.stages || r.all[n-1].doing != d.doing {
		r.all = append(r.all, d)
	}
	r.step++
	return d.stages, d.doing
}

// warmed does as was recorded, and puts heat into the soil for a time.
type warmed struct {
	ran      *record
	plant    *trial.Plant
	step, at int // at is the place in the record
	from, to int // steps of the time
	kWhM2    float64
	heatJ    float64
}

// again is the record once more with heat under each m² from an hour of the trial to another.
func again(ran *record, from, to int, kWhM2 float64) *warmed {
	return &warmed{ran: ran, from: from * hourSteps, to: to * hourSteps, kWhM2: kWhM2}
}

func (w *warmed) in(p *trial.Plant) trial.Rule {
	w.plant = p
	p.EvenHeater()
	return w
}

// Looks is at nothing.
func (w *warmed) Looks() []int { return nil }

// Decide does what was done.
func (w *warmed) Decide([]judge.Raw, time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	if w.step >= w.from && w.step < w.to {
		w.heatJ += w.plant.Warm(w.kWhM2 * jPerKWh / float64(w.to-w.from))
	}
	for w.at+1 < len(w.ran.all) && w.ran.all[w.at+1].from <= w.step {
		w.at++
	}
	w.step++
	d := &w.ran.all[w.at]
	return d.stages, d.doing
}
