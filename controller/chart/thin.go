package chart

import "math"

// pen is what is drawn of a curve in one pixel column.
type pen struct {
	x         float64
	first     float64
	low, high float64
	last      float64
	begins    bool // after a gap
}

// thin brings a curve down to what its pixels can show: of each column the first, lowest, highest
// and last value, so that no peak is lost.
func (c *Chart) thin(curve *Curve) (pens []pen) {
	begins := true
	for _, p := range curve.Points {
		if p.Gap || math.IsNaN(p.Value) || math.IsInf(p.Value, 0) {
			begins = true
			continue
		}
		if p.Time.Before(c.From) || p.Time.After(c.To) {
			begins = true
			continue
		}
		x := math.Round(c.x(p.Time))
		if n := len(pens); n > 0 && pens[n-1].x == x && !begins {
			q := &pens[n-1]
			q.low, q.high, q.last = min(q.low, p.Value), max(q.high, p.Value), p.Value
			continue
		}
		pens = append(pens, pen{x: x, first: p.Value, low: p.Value, high: p.Value, last: p.Value, begins: begins})
		begins = false
	}
	return pens
}
