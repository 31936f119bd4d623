package main

import (
	"loambank/controller/plan/foresight"
	"loambank/controller/season"
	"loambank/controller/trial"
)

// foresighted is what the best schedule earned by one who knew the weather, and what others did.
type foresighted struct {
	unpriced bool // no heater, or a price is missing: nothing below is known
	pair     foresight.Pair
	model    float64 // what the reduced model alone says could be earned over never running, currency
	rules    []earner
	beaten   []string // the rules that earned more than the plan's own schedule, which then followed one
}

// earner is a rule with what it earned over never running, currency. Of the best schedule, which comes
// last, rule is nil.
type earner struct {
	code, name string
	earned     float64
	rule       func() trial.Rule
}

// foresee searches the best schedule and the best pair of thermostats, each with so many trials.
func (a *seasons) foresee(runs int) error {
	d := &a.h.House.Decide
	a.best = &foresighted{unpriced: !d.Heater.Present || !d.Tariff.HasFuel || !d.Tariff.HasElectricity}
	if a.best.unpriced {
		return nil
	}
	shown := newBar(a.w, "searching the best schedule", partsPerYear*2*(1+runs))
	defer shown.finish()
	s := &seer{a, runs, shown.add}
	alone := foresight.MoneyAlone(&a.h.House)
	first, err := a.through([]trial.Rule{foresight.NewMover(&a.h.House), trial.NewConfigured(alone)}, s.tell)
	if err != nil {
		return err
	}
	pair, paired, err := foresight.BestPair(foresight.PairOf(a.h), runs, func(pairs []foresight.Pair) ([]float64, error) {
		return earned(s, pairs, s.rule)
	})
	if err != nil {
		return err
	}
	a.best.pair = pair
	a.best.rules = []earner{
		{"thermostats", "the usual pair", a.earned(a.pair), func() trial.Rule { return trial.UsualThermostats(a.h, a.s.Turn) }},
		{"best-pair", "the best-tuned pair", paired, func() trial.Rule { return s.rule(pair) }},
		{"settings", "its settings", a.earned(a.policy), func() trial.Rule { return trial.NewConfigured(&a.h.House) }},
		{"settings-money", "the same for money alone", a.earned(first[1]), func() trial.Rule { return trial.NewConfigured(alone) }},
	}
	worths := foresight.NewModel(a.h, a.never, first[0]).Worths()
	a.best.model = worths.Earned
	return s.plan(worths)
}

// seer searches.
type seer struct {
	*seasons
	runs int // that each search has
	tell func()
}

// rule is a pair at work for as long as the usual one.
func (s *seer) rule(p foresight.Pair) trial.Rule {
	return p.Rule(s.h, season.DatesBetween(s.s.Turn.ToppingUp, s.s.Turn.LastFrost))
}

// plan searches the best schedule and puts it beside the rules. Where one of them beat it, it starts
// from that rule.
func (s *seer) plan(w *foresight.Worths) error {
	turn, most, err := foresight.Search(s.runs, func(turns []foresight.Turn) ([]float64, error) {
		return earned(s, turns, func(t foresight.Turn) trial.Rule { return w.Plan(&s.h.House, t) })
	})
	if err != nil {
		return err
	}
	var from *earner
	for i := range s.best.rules {
		e := &s.best.rules[i]
		if e.earned > most {
			s.best.beaten = append(s.best.beaten, e.name)
		}
		if e.earned > most && (from == nil || e.earned > from.earned) {
			from = e
		}
	}
	if from != nil {
		mixed, err := s.mix(w, turn, from)
		if err != nil {
			return err
		}
		most = max(mixed, from.earned)
	}
	s.best.rules = append(s.best.rules, earner{code: "plan", name: "the best schedule", earned: max(0, most)}) // at worst it rests
	return nil
}

// mix is what a plan earns that follows a rule in the months in which that is better.
func (s *seer) mix(w *foresight.Worths, turn foresight.Turn, from *earner) (float64, error) {
	record := foresight.NewRecord(from.rule())
	if _, err := s.through([]trial.Rule{record}, s.tell); err != nil {
		return 0, err
	}
	_, most, err := foresight.Mix(s.runs, func(all []foresight.Months) ([]float64, error) {
		return earned(s, all, func(in foresight.Months) trial.Rule { return w.Plan(&s.h.House, turn).Follow(record, in) })
	})
	return most, err
}

// earned is what rules made of so many things earn over never running.
func earned[T any](s *seer, of []T, rule func(T) trial.Rule) ([]float64, error) {
	rules := make([]trial.Rule, len(of))
	for i, t := range of {
		rules[i] = rule(t)
	}
	years, err := s.through(rules, s.tell)
	out := make([]float64, len(years))
	for i := range years {
		out[i] = s.seasons.earned(years[i])
	}
	return out, err
}

// earned is what a year earned over never running, currency.
func (a *seasons) earned(r *trial.Result) float64 {
	t, never := r.Total(), a.never.Total()
	return never.Fuel - t.Fuel - t.Electricity
}
