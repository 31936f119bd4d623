package decide

import "math"

// running reports whether any fan of the store is on.
func (ss *StoreState) running() bool {
	for j := range ss.Fans {
		if ss.Fans[j].Stage > 0 {
			return true
		}
	}
	return false
}

// usable is the stages of a store's fans at speed n, without those that do not start or whose
// device is down. Where none is left, all are reckoned with, so that they are wanted and tried again.
func (t *tick) usable(i int, n uint8) [MaxFans]uint8 {
	var all, able [MaxFans]uint8
	for j := range t.s.Stores[i].Fans {
		all[j] = min(n, uint8(len(t.s.Stores[i].Fans[j].Levels)))
		if t.st.Stores[i].Fans[j].Fault != DoesNotStart && !t.in.Stores[i].Fans[j].Down {
			able[j] = all[j]
		}
	}
	if able == [MaxFans]uint8{} {
		return all
	}
	return able
}

// order ranks the stores: those that save the crop or obey a person first, then those that run,
// then by what is left over per kWh of electricity.
func (t *tick) order(w *[MaxStores]wish) [MaxStores]int {
	var rank [MaxStores]int
	for i := range t.s.Stores {
		rank[i] = i
		for k := i; k > 0 && t.before(w, rank[k], rank[k-1]); k-- {
			rank[k], rank[k-1] = rank[k-1], rank[k]
		}
	}
	return rank
}

func (t *tick) before(w *[MaxStores]wish, a, b int) bool {
	switch {
	case w[a].free != w[b].free:
		return w[a].free
	case t.on[a] != t.on[b]:
		return t.on[a]
	}
	return w[a].yield > w[b].yield
}

// powerLimit is what the fans of this house may draw together now, W.
func (t *tick) powerLimit() float64 {
	limit := math.Inf(1)
	if t.s.MaxPowerW > 0 {
		limit = t.s.MaxPowerW
	}
	if t.in.OnGenerator == On && t.s.GeneratorPowerW > 0 {
		limit = min(limit, t.s.GeneratorPowerW)
	}
	if t.in.Grant.Limited {
		limit = min(limit, t.in.Grant.PowerW)
	}
	return limit
}

// act turns a wish into stages, within starts, stagger and power, and writes down what was done.
func (t *tick) act(i int, w *wish) {
	ss, d := &t.st.Stores[i], &t.d.Stores[i]
	d.State, d.Reason = w.state, w.reason
	n := w.stage
	if w.run && n == 0 {
		n = t.s.Stores[i].levels()
	}
	was := ss.Fans
	for _, running := range [...]bool{true, false} { // a start takes no power from a running fan
		for j := range t.s.Stores[i].Fans {
			if (was[j].Stage > 0) == running {
				t.command(i, j, w, n)
			}
		}
	}
	if w.run && !d.Running() {
		d.State, d.Reason = Rest, d.Waiting
		d.Reason.HasAir, d.Reason.Air = w.reason.HasAir, w.reason.Air
		d.Reason.HasSoil, d.Reason.Soil = w.reason.HasSoil, w.reason.Soil
	}
	t.settle(i, n)
	t.expect(i, w)
}

// command sets fan j, which is wanted at n if the wish is to run.
func (t *tick) command(i, j int, w *wish, n uint8) {
	var stage uint8
	if w.run && (w.alone == 0 || int(w.alone) == j+1) {
		stage = t.grant(i, j, w, n)
	}
	f := &t.st.Stores[i].Fans[j]
	if (stage > 0) != (f.Stage > 0) {
		f.HeldS = 0
	}
	f.Stage, t.d.Stores[i].Stages[j] = stage, stage
}

// settle keeps the store's clocks.
func (t *tick) settle(i int, n uint8) {
	ss, d := &t.st.Stores[i], &t.d.Stores[i]
	ss.Doing = d.State
	if !d.Running() {
		ss.RunS, n = 0, 0
	} else {
		ss.RestS = 0
	}
	if n != ss.Stage {
		ss.Stage, ss.StageS = n, 0
	}
}

// expect reckons heat and electricity of the stages commanded, and how far they will move the
// air that later stores see: the measured air shows it only after a while.
func (t *tick) expect(i int, w *wish) {
	d := &t.d.Stores[i]
	if !d.Running() {
		return
	}
	for j := range t.s.Stores[i].Fans {
		d.PowerW += t.s.Stores[i].Fans[j].PowerAt(d.Stages[j])
	}
	t.powerLeftW -= d.PowerW
	soil, ok := t.soilOf(i)
	if !ok || !t.intakeOK {
		return
	}
	h := w.heat
	if d.Stages != w.reckoned || !t.on[i] {
		h = t.exchange(i, d.Stages, t.breath(t.on[i]), soil.C)
	}
	d.HeatW, d.LatentW, d.CondensateKgS = h.soilW, h.latentW, h.condensateS
	const settleS = 900 // the air follows its fans within this time; common practice, no source
	if age := t.st.Stores[i].RunS / settleS; t.s.HouseLossWK > 0 && age < 6 {
		t.shiftK -= kelvin(h.soilW-h.latentW, t.s.HouseLossWK, age)
	}
}

// grant is the stage fan j gets of the n wanted, and the reason where it must wait.
func (t *tick) grant(i, j int, w *wish, n uint8) uint8 {
	fan, f, d := &t.s.Stores[i].Fans[j], &t.st.Stores[i].Fans[j], &t.d.Stores[i]
	if t.in.Stores[i].Fans[j].Down {
		d.Waiting = Reason{Code: WaitFault}
		return 0
	}
	stage, left := min(n, uint8(len(fan.Levels))), t.powerLeftW-t.drawn(i)
	for stage > 0 && fan.PowerAt(stage) > left {
		stage--
	}
	if stage == 0 {
		d.Waiting = Reason{Code: WaitPower, Have: left, Need: fan.PowerAt(1)}
		return 0
	}
	if f.Stage > 0 {
		return stage
	}
	if r := t.mayStart(i, j, w); r.Code != NoReason {
		d.Waiting = r
		return 0
	}
	f.StartWaitS = 0
	if n := t.s.Stores[i].StartsPerHour; n > 0 {
		f.StartWaitS = 3600 / n
	}
	t.st.StaggerS = t.s.StaggerS
	return stage
}

// drawn is what the fans of store i that are commanded so far draw in this decision, W.
func (t *tick) drawn(i int) float64 {
	sum := 0.0
	for k := range t.s.Stores[i].Fans {
		sum += t.s.Stores[i].Fans[k].PowerAt(t.d.Stores[i].Stages[k])
	}
	return sum
}

// mayStart says why a fan at rest may not start yet, or NoReason.
func (t *tick) mayStart(i, j int, w *wish) Reason {
	ss, store := &t.st.Stores[i], &t.s.Stores[i]
	f := &ss.Fans[j]
	if f.Fault == DoesNotStart && (f.RetryS > 0 || f.Retries > lastRetry && w.state != Frost) {
		return Reason{Code: WaitFault, Have: f.RetryS}
	}
	if !w.free {
		if !t.on[i] && ss.RestS < store.MinRestS {
			return Reason{Code: WaitRest, Have: ss.RestS, Need: store.MinRestS}
		}
		if f.StartWaitS > 0 {
			return Reason{Code: WaitStarts, Have: f.StartWaitS}
		}
	}
	if t.in.Grant.Closed {
		return Reason{Code: WaitGrant}
	}
	if t.st.StaggerS > 0 {
		t.d.AgainS = t.st.StaggerS
		return Reason{Code: WaitStagger, Have: t.st.StaggerS}
	}
	return Reason{}
}
