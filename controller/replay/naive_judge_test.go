package replay_test

import (
	"math"
	"time"
)

// trust is how far a reading is relied on, as judged by this test.
type trust int

const (
	lost trust = iota
	doubted
	sure
)

// watch judges one probe row by row, in instants, where package judge sums steps. Limits are those
// that its documentation gives and those of testdata/winter/tunnel.toml.
type watch struct {
	lo, hi           float64
	stale            time.Duration
	still            time.Duration // within stillBand for longer is doubtful
	stillBand        float64
	leap, leapPerS   float64 // a larger step is doubtful until three readings, or two over 5 min, agree
	pins             bool    // either end of the scale is doubtful
	value            float64
	valueAt, heardAt time.Time
	heard            bool
	how              trust
	mending          int // readings in a row since it was lost
	anchor           float64
	anchorAt         time.Time
	leaps            []leap
	leapAt           time.Time // the first that nothing settled
	tries            int
}

type leap struct {
	at time.Time
	v  float64
}

func watches() [cells]watch {
	return [cells]watch{
		airCell: {lo: -50, hi: 70, stale: 65 * time.Minute, still: 6 * time.Hour, stillBand: 0.12, leap: 5, leapPerS: 0.01},
		humidityCell: {
			lo: 0, hi: 1, stale: 65 * time.Minute, still: 12 * time.Hour, stillBand: 0.005,
			leap: 0.4, leapPerS: 0.0005, pins: true,
		},
		deepCell:    {lo: -30, hi: 60, stale: 26 * time.Hour, still: 21 * 24 * time.Hour, stillBand: 0.03, leap: 1, leapPerS: 0.0005},
		shallowCell: {lo: -30, hi: 60, stale: 65 * time.Minute, still: 3 * 24 * time.Hour, stillBand: 0.03, leap: 1, leapPerS: 0.002},
	}
}

// hear takes what the probe said at a tick, or that it said nothing.
func (w *watch) hear(at time.Time, c cell) {
	switch {
	case !c.ok:
		if w.heard && at.Sub(w.heardAt) > w.stale {
			w.lose()
		}
		return
	case c.v < w.lo || c.v > w.hi || c.v == 85 && !w.pins:
		w.heard, w.heardAt = true, at
		w.lose()
		return
	}
	first := !w.heard
	w.heard, w.heardAt = true, at
	far := math.Abs(c.v-w.value) > w.leap+w.leapPerS*at.Sub(w.valueAt).Seconds()
	switch {
	case first:
		w.anchor, w.anchorAt = c.v, at
		w.settle(at, c.v)
	case w.how == lost || w.mending > 0:
		if w.mending == 0 || far {
			w.mending, w.anchor, w.anchorAt = 0, c.v, at
		}
		w.mending++
		w.settle(at, c.v)
		if w.mending < 3 {
			w.how = doubted
		} else {
			w.mending = 0
		}
	case far:
		w.leapt(at, c.v)
	default:
		w.settle(at, c.v)
	}
}

func (w *watch) lose() {
	w.how, w.mending, w.leaps, w.tries = lost, 0, nil, 0
}

func (w *watch) settle(at time.Time, v float64) {
	w.value, w.valueAt, w.leaps, w.tries = v, at, nil, 0
	if math.Abs(v-w.anchor) > w.stillBand {
		w.anchor, w.anchorAt = v, at
	}
	w.how = sure
	if at.Sub(w.anchorAt) > w.still || w.pins && (v <= 0.005 || v >= 0.995) {
		w.how = doubted
	}
}

func (w *watch) leapt(at time.Time, v float64) {
	if w.tries == 0 {
		w.leapAt = at
	}
	w.tries++
	if n := len(w.leaps); n > 0 && math.Abs(v-w.leaps[n-1].v) > w.leap+w.leapPerS*at.Sub(w.leaps[n-1].at).Seconds() {
		w.leaps = nil
	}
	w.leaps = append(w.leaps, leap{at, v})
	n := len(w.leaps)
	switch {
	case n >= 3 || n == 2 && at.Sub(w.leaps[0].at) >= 5*time.Minute:
		w.settle(at, v)
	case at.Sub(w.leapAt) > w.stale && w.tries > 6:
		w.lose()
	default:
		w.how = doubted
	}
}
