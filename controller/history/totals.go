package history

import (
	"math"
	"time"
)

// TotalsBefore returns the counters of a house as they last stood on the disk before a time, at the
// end of an hour; nil where there are none.
func (r *Reader) TotalsBefore(house string, before time.Time) (*Totals, error) {
	end := before.Unix()
	for end > math.MinInt64 {
		var at *int64
		if err := r.db.QueryRow("SELECT max(at) FROM "+tables[hourTable].name+" WHERE at < ?", end).Scan(&at); err != nil {
			return nil, damage(err)
		}
		if at == nil {
			return nil, nil
		}
		rows, err := r.rows(hourTable, *at, *at+1)
		if err != nil {
			return nil, err
		}
		for i := len(rows) - 1; i >= 0; i-- { // the last run of the program counts
			b := r.books[house][rows[i].house]
			if b == nil {
				continue
			}
			samples, err := openRow(rows[i], func(p []byte) ([]Sample, error) { return decodeSamples(p, rows[i].at, hourS, b) })
			if r.spoilt(err) || len(samples) == 0 || samples[len(samples)-1].Totals == nil {
				continue
			}
			s := samples[len(samples)-1]
			if s.At.Add(hourS * time.Second).After(before) {
				continue // the hour goes on past it
			}
			return s.Totals, nil
		}
		end = *at
	}
	return nil, nil
}
