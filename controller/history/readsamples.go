package history

import (
	"cmp"
	"iter"
	"slices"
	"time"
)

// Samples yields the samples of a house that begin in from <= time < to, in the order of its clock,
// at the finest step that is kept of each day.
func (r *Reader) Samples(house string, from, to time.Time) iter.Seq2[Sample, error] {
	return func(yield func(Sample, error) bool) {
		// A period's row may begin before it, by less than a day.
		for day := range r.days(time.Unix(floor(from.Unix(), dayS), 0), to, minuteTable, quarterTable, hourTable) {
			samples, err := r.day(house, day)
			if err != nil {
				yield(Sample{}, err)
				return
			}
			for _, s := range samples {
				if !s.At.Before(from) && s.At.Before(to) && !yield(s, nil) {
					return
				}
			}
		}
	}
}

// day returns the samples of a day. Each run of the program stands at the finest step that it is
// kept at: one whose clock was wrong may lie on another's day.
func (r *Reader) day(house string, day int64) ([]Sample, error) {
	var all []Sample
	finer := map[int64]bool{}
	for _, step := range [...]struct {
		table table
		stepS int64
	}{{minuteTable, minuteS}, {quarterTable, quarterS}, {hourTable, hourS}} {
		rows, err := r.rows(step.table, day, day+dayS)
		if err != nil {
			return nil, err
		}
		runs := map[int64]bool{}
		for _, x := range rows {
			b := r.books[house][x.house]
			if b == nil || finer[x.n] {
				continue
			}
			samples, err := openRow(x, func(p []byte) ([]Sample, error) { return decodeSamples(p, x.at, step.stepS, b) })
			if !r.spoilt(err) {
				all = append(all, samples...)
				runs[x.n] = true
			}
		}
		for run := range runs {
			finer[run] = true
		}
	}
	slices.SortStableFunc(all, func(a, b Sample) int { return cmp.Compare(a.At.Unix(), b.At.Unix()) })
	return all, nil
}
