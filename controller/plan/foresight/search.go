package foresight

import (
	"fmt"
	"math"

	"loambank/controller/plan/tune"
)

// Search turns a plan until, as executed, it earns no more: first the three numbers of the whole year,
// then each month's worth of stored heat as well. It begins with Straight and has at most so many
// trials. live lives through the year with each and returns what it earned over never running,
// currency; its error ends the search with the best so far.
func Search(most int, live func([]Turn) ([]float64, error)) (Turn, float64, error) {
	s := newSearch(turned, live)
	const wide = 12
	first := make(tune.Point, axes)
	year := tune.Box{Lo: make(tune.Point, axes), Hi: make(tune.Point, axes)}
	months := tune.Box{Lo: make(tune.Point, axes), Hi: make(tune.Point, axes)}
	for i := range first {
		first[i], months.Lo[i], months.Hi[i] = 2, -8, wide
	}
	months.Lo[axisStart], months.Hi[axisStart] = -2, 8
	months.Lo[axisLater], months.Hi[axisLater] = -2, 4
	copy(year.Lo, months.Lo[:axisMonths])
	copy(year.Hi, months.Hi[:axisMonths])
	err := s.walk(make(tune.Point, axes), first, year, max(1, most/yearShare))
	if left := most - len(s.known); err == nil && left > 0 {
		err = s.walk(s.at, first, months, left)
	}
	return s.best, s.most, err
}

// Mix searches the months in which a plan should rather follow a recorded rule, from following it all
// year on, with at most so many trials; live and errors are as for Search.
func Mix(most int, live func([]Months) ([]float64, error)) (Months, float64, error) {
	const months = len(Months{})
	followed := func(p tune.Point) (m Months) {
		for i := range m {
			m[i] = p[i] > 0
		}
		return m
	}
	all := make(tune.Point, months)
	for i := range all {
		all[i] = 1
	}
	s := newSearch(followed, live)
	err := s.walk(all, all, tune.Box{Lo: make(tune.Point, months), Hi: all}, most)
	return s.best, s.most, err
}

// Quality is what a policy earns over never running, as a share of what the best schedule does; it is
// negative where never running is better. ok is false where even that earns nothing: then there is
// nothing to have a share of.
func Quality(earned, best float64) (share float64, ok bool) {
	if !(best > 0) {
		return 0, false
	}
	return earned / best, true
}

// The axes of a search, and yearShare, one part in which of the trials goes to the whole year.
const (
	axisStored = iota
	axisStart
	axisLater
	axisMonths
	axes = axisMonths + 12

	yearShare = 3
)

// turned is the turn at a point, in steps of 10 % of what Straight has.
func turned(p tune.Point) Turn {
	t := Straight()
	t.Start += 0.1 * float64(p[axisStart])
	t.Later += 0.5 * float64(p[axisLater])
	for i := range t.Stored {
		t.Stored[i] *= (1 + 0.1*float64(p[axisStored])) * (1 + 0.1*float64(p[axisMonths+i]))
	}
	return t
}

// search is a walk over points that remembers what was tried, so that no year is lived through twice.
type search[T any] struct {
	of    func(tune.Point) T
	live  func([]T) ([]float64, error)
	known map[string]float64
	at    tune.Point // of the best so far
	best  T
	most  float64
}

func newSearch[T any](of func(tune.Point) T, live func([]T) ([]float64, error)) *search[T] {
	return &search[T]{of: of, live: live, known: map[string]float64{}, most: math.Inf(-1)}
}

func (s *search[T]) walk(start, first tune.Point, box tune.Box, most int) error {
	_, err := tune.Minimise(start, first, box, most, s.ask)
	return err
}

// ask earns at points, those that are new at once.
func (s *search[T]) ask(points []tune.Point) ([]float64, error) {
	var fresh []T
	var where []tune.Point
	for _, p := range points {
		if _, known := s.known[fmt.Sprint(p)]; !known {
			fresh, where = append(fresh, s.of(p)), append(where, p)
		}
	}
	if len(fresh) > 0 {
		earned, err := s.live(fresh)
		for i, money := range earned {
			s.known[fmt.Sprint(where[i])] = money
			if money > s.most {
				s.at, s.best, s.most = where[i], fresh[i], money
			}
		}
		if err != nil {
			return nil, err
		}
	}
	scores := make([]float64, len(points))
	for i, p := range points {
		scores[i] = -s.known[fmt.Sprint(p)]
	}
	return scores, nil
}
