package pulse

import "time"

// counter finds the pulses among the edges. The zero value takes the line for open.
type counter struct {
	debounce time.Duration

	closed  bool          // the last level that lasted
	low     bool          // the level since changed
	changed time.Duration // when the last edge came

	pulse    bool          // one has come
	last     time.Duration // when the last pulse began; before the first, when counting began
	interval time.Duration // between the last two; 0 before there are two
}

// add takes what the line did.
func (c *counter) add(r Record) {
	if r.Missed {
		// What is before the gap says nothing about the interval over it.
		at := r.Now
		if len(r.Edges) > 0 {
			at = r.Edges[0].At
		}
		*c = counter{debounce: c.debounce, last: at, changed: at}
	}
	for _, e := range r.Edges {
		c.lasted(e.At)
		c.low, c.changed = e.Low, e.At
	}
	c.lasted(r.Now)
}

// lasted looks whether the level that ends, or stands, at a time has lasted.
func (c *counter) lasted(until time.Duration) {
	if until-c.changed < c.debounce || c.closed == c.low {
		return
	}
	c.closed = c.low
	if !c.closed {
		return
	}
	// The first pulse after a long silence ends an interval that was longer still.
	if c.pulse || c.changed-c.last >= patience {
		c.interval = max(c.changed-c.last, time.Nanosecond)
	}
	c.pulse, c.last = true, c.changed
}
