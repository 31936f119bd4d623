package foresight

import "loambank/controller/trial"

// fitDays is how long heat has to spread in the soil before its probes are believed to show it.
const fitDays = 5

// fit finds what the fans' year tells of the stores.
func (m *Model) fit(never, moved []trial.Hour) {
	m.into, m.out = 1, 1
	m.into, m.out = m.shares(moved)
	m.capacityJK, m.fadesPerH = m.soil(moved)
	for t := range moved {
		x := m.excess(moved, t)
		m.lowK, m.highK = min(m.lowK, x), max(m.highK, x)
	}
	m.returns(never, moved)
}

// excess is how much warmer the stores were at the end of hour t than with fans that never ran, K.
func (m *Model) excess(moved []trial.Hour, t int) float64 {
	return float64(moved[t].Soil.Sub(m.hours[t].soil))
}

// shares are what fans at full speed moved, over what the model's exchange says, by least squares over
// the hours that they ran through. A way in which they never ran is never planned: its share is 0.
func (m *Model) shares(moved []trial.Hour) (into, out float64) {
	if len(m.speeds) == 0 {
		return 0, 0
	}
	var product, square [ways]float64
	full := &m.speeds[len(m.speeds)-1]
	for t := range moved {
		h := &moved[t]
		w := discharge
		if h.HeatKWh > 0 {
			w = charge
		}
		if h.FanKWh*1000 < 0.95*full.powerW {
			continue
		}
		says := m.heatW(&m.hours[t], w, full, airOf(h), h.Soil, true) / 1000
		product[w] += says * h.HeatKWh
		square[w] += says * says
	}
	over := func(w way) float64 {
		if square[w] == 0 {
			return 0
		}
		return max(0, product[w]/square[w])
	}
	return over(charge), over(discharge)
}

// soil is the heat that warms the stores by 1 K and the share of what they hold too much that leaves
// in an hour, by least squares: over each few days, rise = heat/capacity − faded × mean excess.
func (m *Model) soil(moved []trial.Hour) (capacityJK, fadesPerH float64) {
	const hours = fitDays * 24
	var sum plane
	for t := hours; t < len(moved); t += hours {
		var heatJ, held float64
		for k := t - hours + 1; k <= t; k++ {
			heatJ += moved[k].HeatKWh * jPerKWh
			held -= m.excess(moved, k)
		}
		sum.add(m.excess(moved, t)-m.excess(moved, t-hours), heatJ, held)
	}
	perJ, fades, ok := sum.solve()
	if !ok || !(perJ > 0) {
		return m.usualJK(), 1 / usualFadeH
	}
	return 1 / perJ, min(max(fades, 0), 1)
}

const (
	// usualFadeH is how long a store keeps its heat where nothing was moved that could tell, and usualJKW
	// what it takes for each K and W of its fans. Common practice, no source.
	usualFadeH = 30 * 24.0
	usualJKW   = 2e5
)

func (m *Model) usualJK() float64 {
	if len(m.speeds) == 0 {
		return usualJKW
	}
	return usualJKW * m.speeds[len(m.speeds)-1].powerW
}

// returns scales what heat in floor and crop is worth later, and finds the share of the heat that left
// the stores by itself that the house had, by least squares over each few days: what the heater was
// spared = what it is spared at once + scale × later + share × risen.
func (m *Model) returns(never, moved []trial.Hour) {
	var y, later, risen float64 // of the days so far, currency
	var sum plane
	for t := range moved {
		h, fans := &m.hours[t], &moved[t]
		powerW := 1000 * (fans.FanKWh - fans.HeatKWh)
		atOnce := h.given(powerW, 0)
		y += jPerKWh*(never[t].HeaterKWh-fans.HeaterKWh)*h.fuel - atOnce
		later += h.given(powerW, 1) - atOnce
		risen += m.fadesPerH * m.capacityJK * m.excess(moved, t) * h.atMargin()
		if (t+1)%(fitDays*24) == 0 {
			sum.add(y, later, risen)
			y, later, risen = 0, 0, 0
		}
	}
	scale, share, ok := sum.solve()
	if !ok {
		return
	}
	m.rises = min(max(share, 0), 1)
	for t := range m.hours {
		m.hours[t].later *= max(scale, 0)
	}
}

// plane is the sums of a least-squares fit of y = a·u + b·v.
type plane struct{ uu, uv, vv, yu, yv float64 }

func (p *plane) add(y, u, v float64) {
	p.uu, p.uv, p.vv, p.yu, p.yv = p.uu+u*u, p.uv+u*v, p.vv+v*v, p.yu+y*u, p.yv+y*v
}

// solve finds a and b; ok is false where the sums do not tell them apart.
func (p *plane) solve() (a, b float64, ok bool) {
	det := p.uu*p.vv - p.uv*p.uv
	if !(det > 1e-9*p.uu*p.vv) {
		return 0, 0, false
	}
	return (p.yu*p.vv - p.yv*p.uv) / det, (p.yv*p.uu - p.yu*p.uv) / det, true
}
