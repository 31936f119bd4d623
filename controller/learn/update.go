package learn

import "loambank/controller/physics"

// Moist is house air whose humidity ratio may be unknown, then 0.
type Moist struct {
	W float64
}

// Update returns what is known after one more sample. It never fails: what a sample lacks teaches
// nothing, and a gap begins anew what needs to be without one.
func Update(s *Settings, p Params, sample Sample) Params {
	n := s.stores()
	if !p.Begun {
		p.Begun = true
		p.House = newFilter(s.housePriors()...)
		for i := range n {
			p.Stores[i] = s.newStore(i)
		}
	}
	for i := range n {
		if q := &p.Stores[i]; q.Fans == (FanKey{}) {
			*q = s.newStore(i) // a store that was added
		} else if q.Fans != s.Stores[i].key() {
			s.Stores[i].renew(q)
		}
	}
	if sample.gap() {
		for i := range n {
			p.Stores[i].Day = Day{}
			p.Stores[i].RunS = 0
		}
		p.Hour = Hour{}
		return p
	}
	sample = sample.clean(n)
	air := sample.moist(s)
	for i := range n {
		q, b, store := &p.Stores[i], &sample.Stores[i], &s.Stores[i]
		h := store.pass(q, &sample, b, air, s.pressurePa())
		store.watch(q, &sample, b, h)
		store.touch(q, b, h, sample.StepS)
		store.soil(q, b, sample.Air, h, sample.StepS, s.capacityJK(i))
		if b.Between.Known && (!q.Highest.Known || b.Between.C > q.Highest.C) {
			q.Highest = b.Between
		}
		p.Hour.store(s, &p, b, h, i, sample.StepS)
	}
	p.Nights.add(&sample)
	p.Watch.sun(&sample, s.stores())
	p.hour(s, &sample)
	return p
}

// moist is the house air as far as it was read.
func (s *Sample) moist(of *Settings) (air Moist) {
	if s.Humidity.Known && s.Air.Known {
		air.W = physics.HumidityRatio(s.Air.C, s.Humidity.V, of.pressurePa())
	}
	return air
}
