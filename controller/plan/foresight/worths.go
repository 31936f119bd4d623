package foresight

import (
	"math"

	"loambank/config/unit"
)

// levels is how finely the stores' heat is told apart, and reach how far beyond what the moving year
// showed.
const (
	levels = 61
	reach  = 1.2
)

// Worths are what a Model's stored heat earns until the year comes round, by hour and level.
type Worths struct {
	m      *Model
	lowK   float64
	stepK  float64
	ahead  [][levels]float64 // at the beginning of each hour and after the last, currency
	Earned float64           // by the model's own schedule over resting, currency a year
}

// Worths solves the year by dynamic programming (Bellman, Dynamic Programming, Princeton 1957), once
// to find what stored heat is worth at its end, and once more.
func (m *Model) Worths() *Worths {
	w := &Worths{m: m, ahead: make([][levels]float64, len(m.hours)+1)}
	w.lowK = min(reach*m.lowK, -1)
	w.stepK = (max(reach*m.highK, 1) - w.lowK) / (levels - 1)
	w.solve()
	empty := w.at(0, 0)
	for i := range levels {
		w.ahead[len(m.hours)][i] = w.ahead[0][i] - empty
	}
	w.solve()
	w.Earned = w.earned()
	return w
}

// solve goes backwards through the year from what lies ahead of its end.
func (w *Worths) solve() {
	for t := len(w.m.hours) - 1; t >= 0; t-- {
		for i := range levels {
			_, w.ahead[t][i] = w.best(t, w.lowK+float64(i)*w.stepK)
		}
	}
}

// best is the move that earns most from a level on at the beginning of hour t, and what it does.
func (w *Worths) best(t int, excessK float64) (best move, ahead float64) {
	ahead = math.Inf(-1)
	w.m.moves(t, excessK, func(v move) {
		if sum := v.money + w.at(t+1, v.toK); sum > ahead {
			best, ahead = v, sum
		}
	})
	return best, ahead
}

// earned lives through two years of the model by its best moves and tells of the second.
func (w *Worths) earned() (money float64) {
	n, excessK := len(w.m.hours), 0.0
	for t := range 2 * n {
		v, _ := w.best(t%n, excessK)
		if excessK = v.toK; t >= n {
			money += v.money
		}
	}
	return money
}

// at is what lies ahead at the beginning of hour t, in between levels in proportion; a store that
// were fuller or emptier than the levels counts as the last of them.
func (w *Worths) at(t int, excessK float64) float64 {
	i, part := w.place(excessK)
	return w.ahead[t][i] + part*(w.ahead[t][i+1]-w.ahead[t][i])
}

func (w *Worths) place(excessK float64) (i int, part float64) {
	at := min(max((excessK-w.lowK)/w.stepK, 0), levels-1)
	i = min(int(at), levels-2)
	return i, at - float64(i)
}

// perJ is what a joule more in the stores is worth after hour t, currency.
func (w *Worths) perJ(t int, excessK float64) float64 {
	i, _ := w.place(excessK)
	return (w.ahead[t+1][i+1] - w.ahead[t+1][i]) / w.stepK / w.m.capacityJK
}

// move is an hour of the model: what the fans do in it, what it earns and where it leads.
type move struct {
	way   way
	stage uint8
	money float64 // currency
	toK   float64 // excess at its end
}

// moves tells all that may be done in hour t.
func (m *Model) moves(t int, excessK float64, tell func(move)) {
	h, still := &m.hours[t], m.resting(t, excessK)
	tell(still)
	soil := h.soil.Add(unit.Kelvin(excessK))
	for w := charge; w < ways; w++ {
		if w == charge && (h.air <= h.chargeFloor || soil >= h.cap) || w == discharge && (h.open || soil <= h.floor) {
			continue
		}
		for k := range m.speeds {
			s := &m.speeds[k]
			heatW := m.heatW(h, w, s, h.inside(), soil, false)
			if heatW == 0 {
				continue
			}
			v := still
			v.way, v.stage = w, s.stage
			v.money += h.given(s.powerW-heatW, 1) - s.powerW*hourS*h.electricity
			v.toK += heatW * hourS / m.capacityJK
			tell(v)
		}
	}
}

// resting is an hour without fans: what the stores hold too much fades, and the house has a share.
func (m *Model) resting(t int, excessK float64) move {
	faded := m.fadesPerH * excessK
	return move{toK: excessK - faded, money: m.rises * faded * m.capacityJK * m.hours[t].atMargin()}
}
