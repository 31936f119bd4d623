package decide

import "loambank/config/unit"

// A running store changes speed only after stageDwellS and for at least stageGain of its cost.
const (
	stageDwellS = 5 * 60
	stageGain   = 0.1
)

// speed is the one speed rule: of all speeds the one that leaves most over per hour, the worth
// of the heat moved less its electricity; of equals the slowest. Frost protection and the last
// kelvins above the frost limit run at full speed, an order at the ordered one.
func (t *tick) speed(i int, w *wish, as Activity, air, soil unit.Celsius) uint8 {
	n := t.s.Stores[i].levels()
	nearFrost := as == Discharge && t.p.Crop && t.low.Sub(t.p.Frost) <= frostNear
	if n <= 1 || nearFrost {
		return n
	}
	ss := &t.st.Stores[i]
	best, bestLeft := uint8(0), 0.0
	var current heat
	currentLeft := 0.0
	for level := uint8(1); level <= n; level++ {
		h := t.exchange(i, t.usable(i, level), air, soil)
		left := leftOver(w.worth, h)
		if best == 0 || left > bestLeft {
			best, bestLeft = level, left
		}
		if level == ss.Stage {
			current, currentLeft = h, left
		}
	}
	if !t.on[i] || ss.Stage == 0 {
		return best
	}
	if ss.StageS < stageDwellS || bestLeft-currentLeft < stageGain*current.powerW/1000*w.worth.cost {
		return ss.Stage
	}
	return best
}

// leftOver is the worth of the heat less the cost of the electricity, per hour.
func leftOver(w worth, h heat) float64 {
	moved := h.soilW
	if moved < 0 {
		moved = -moved
	}
	return moved/1000*w.heat - h.powerW/1000*w.cost
}
