package decide

// hand takes a person's new order.
func (t *tick) hand(i int) {
	ss, o := &t.st.Stores[i], t.in.Stores[i].Order
	switch {
	case o.Kind == OrderAuto:
		ss.endOrder()
	case (o.Kind == OrderRun || o.Kind == OrderOff) && o.ForS > 0:
		ss.Order, ss.OrderStage, ss.OrderFan, ss.OrderLeftS = o.Kind, o.Stage, o.Fan, min(o.ForS, longestStepS)
	}
}

// endOrder gives the store back to the rules.
func (ss *StoreState) endOrder() {
	ss.Order, ss.OrderStage, ss.OrderFan, ss.OrderLeftS = NoOrder, 0, 0, 0
}

// handed is what a person wants: the panel switch, then an order. Fans are not run into standing
// water. While they run, the state is charge or discharge by measurement.
func (t *tick) handed(i int, w *wish, water bool) bool {
	ss := &t.st.Stores[i]
	switch {
	case t.in.Stores[i].HandSwitch == On:
		t.keepOff(i, w, HandSwitch)
		return true
	case ss.Order == OrderOff:
		t.keepOff(i, w, HandOff)
		return true
	case ss.Order != OrderRun || water:
		return false
	case ss.OrderFan > 0 && t.frost(i, w): // one fan is run to be looked at, which can wait
		return false
	}
	w.state, w.run, w.free = Hand, true, true
	w.stage, w.alone = ss.OrderStage, ss.OrderFan
	w.reason = t.reason(i, HandRun, ss.OrderLeftS, 0)
	if soil := t.in.Stores[i].Soil; soil.Known && t.intakeOK {
		w.state = Discharge
		if t.intake > soil.C {
			w.state = Charge
		}
	}
	return true
}

// keepOff is a person keeping the fans off, which sounds the alarm if frost protection would run.
func (t *tick) keepOff(i int, w *wish, code Code) {
	if t.frost(i, w) {
		t.d.Alarms.HandOffFrost = true
	}
	*w = wish{}
	w.rest(Hand, t.reason(i, code, t.st.Stores[i].OrderLeftS, 0))
}

// action runs what fell due by the calendar for its stated time. A top-up burst needs margin and
// cap like any charging; one that cannot start in time is dropped.
func (t *tick) action(i int, w *wish) bool {
	ss := &t.st.Stores[i]
	if ss.Action == 0 {
		return false
	}
	on := t.on[i] && ss.Doing == Action
	if ss.ActionRunS <= 0 || !on && ss.ActionDueS <= 0 {
		ss.Action, ss.ActionRunS, ss.ActionDueS = 0, 0, 0
		return false
	}
	index, code := int(ss.Action)-1, ActionDue
	if t.s.Actions[index].TopUp {
		code = ActionTopUp
		if !t.mayTopUp(i, on) {
			return false
		}
	}
	w.state, w.run = Action, true
	w.reason = t.reason(i, code, ss.ActionRunS, float64(index))
	return true
}

// mayTopUp reports whether margin and cap let a burst run.
func (t *tick) mayTopUp(i int, on bool) bool {
	sp := &t.p.Stores[i]
	soil, known := t.soilOf(i)
	need, limit := sp.Margin, sp.SoilCap
	if on {
		need -= sp.MarginBand
	} else {
		limit = limit.Add(-capBand)
	}
	air := t.intake
	if !on {
		air = air.Add(t.shiftK)
	}
	margin := air.Sub(soil.C.Add(soil.Uncertain))
	return known && t.intakeOK && (on || t.goodIntake()) &&
		margin >= need && margin > 0 && t.hottest(i, soil) < limit
}
