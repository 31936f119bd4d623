package decide

import (
	"loambank/config/unit"
	"loambank/controller/judge"
	"loambank/controller/physics"
)

// wish is what the rules want of one store, before starts, stagger and power have their say.
type wish struct {
	state  Activity
	reason Reason
	run    bool  // fans wanted on
	free   bool  // not bound by minimum rest and starts per hour
	stage  uint8 // asked for; 0 is full speed
	alone  uint8 // the one fan that is wanted, 1 is the first; 0 is all
	worth  worth
	yield  float64 // what is left over per kWh of electricity, to rank stores

	reckoned [MaxFans]uint8 // the stages heat was reckoned for
	heat     heat
}

// rule applies the rules in their order; the first that applies wins and fills in w.
func (t *tick) rule(i int, w *wish) {
	*w = wish{}
	water := t.in.Stores[i].PipeWater == On
	switch {
	case t.st.Smoke:
		w.rest(Hold, Reason{Code: HoldSmoke})
		return
	case water && t.s.Stores[i].WaterHoldsFrost:
		w.rest(Hold, Reason{Code: HoldWater})
		return
	case t.handed(i, w, water), t.frost(i, w), t.fallback(i, w):
		return
	case water:
		w.rest(Hold, Reason{Code: HoldWater})
		return
	case !t.airKnown:
		t.carry(i, w, Reason{Code: AirGrace, Have: t.st.AirLostS, Need: t.s.GraceS})
		return
	case t.action(i, w):
		return
	}
	noDischarge, ok := t.discharge(i, w)
	if ok {
		return
	}
	noCharge, ok := t.charge(i, w)
	if ok || t.dry(i, w) {
		return
	}
	t.carry(i, w, t.why(i, noDischarge, noCharge))
}

// rest makes the wish one for fans off.
func (w *wish) rest(state Activity, r Reason) { *w = wish{state: state, reason: r} }

// why picks the reason for rest: that of the way the heat would flow.
func (t *tick) why(i int, noDischarge, noCharge Reason) Reason {
	soil, ok := t.soilOf(i)
	if t.frostMet && t.in.Stores[i].Soil.Known {
		air := t.low
		if t.goodIntake() {
			air = max(air, t.intake)
		}
		have := t.in.Stores[i].Soil.C.Sub(air)
		return t.reason(i, FrostNoHelp, float64(have), float64(t.p.FrostGain))
	}
	if !ok {
		return Reason{Code: SoilLost, HasAir: true, Air: t.air}
	}
	if t.intakeOK && t.intake >= soil.C {
		return noCharge
	}
	return noDischarge
}

// reason fills in the temperatures that the decision was taken on.
func (t *tick) reason(i int, code Code, have, need float64) Reason {
	r := Reason{Code: code, Have: have, Need: need, Learned: t.st.Stores[i].Learned.Known()}
	if t.airKnown {
		r.HasAir, r.Air = true, t.air
	}
	if s := t.in.Stores[i].Soil; s.Known {
		r.HasSoil, r.Soil = true, s.C
	}
	return r
}

// unknownSoil is what soil at pipe depth is taken for when it was never read and the crop is at
// its frost limit: unfrozen ground under a closed house. Common practice, no source.
const unknownSoil unit.Celsius = 4

// frost is discharge to save the crop. It goes by the best guess of the soil, however old. Once
// it runs, it outlasts the grace time of a lost air probe: what follows is the fallback.
func (t *tick) frost(i int, w *wish) bool {
	p := t.p
	on := t.on[i] && t.st.Stores[i].Doing == Frost
	if !p.Crop {
		return false
	}
	soil := unknownSoil
	if s := t.in.Stores[i].Soil; s.Known && finite(float64(s.C)) {
		soil = s.C
		if t.goodIntake() && soil <= t.intake {
			return false // a cold corner, or a probe that lies: the fans would cool the house
		}
	}
	if !t.airKnown {
		if !on || t.st.AirLostS > t.s.GraceS {
			return false
		}
		w.state, w.run, w.free = Frost, true, true
		w.reason = t.reason(i, AirGrace, t.st.AirLostS, t.s.GraceS)
		return true
	}
	limit, gain := p.Frost, p.FrostGain
	if on {
		limit, gain = limit.Add(p.FrostBand), gain/2
	}
	if t.low > limit || on && t.low == limit {
		return false
	}
	if over := soil.Sub(t.low); over < gain || over <= 0 {
		return false
	}
	w.state, w.run, w.free = Frost, true, true
	w.reason = t.reason(i, FrostProtect, float64(t.low), float64(limit))
	return true
}

// fallback is the stated duty once the air is lost for longer than the grace time. Soil that was
// carried for too long is no reason to run blind.
func (t *tick) fallback(i int, w *wish) bool {
	if t.airKnown || t.st.AirLostS <= t.s.GraceS {
		return false
	}
	gain := t.p.FrostGain
	if t.on[i] && t.st.Stores[i].Doing == Fallback {
		gain /= 2
	}
	w.state = Fallback
	soil, usable := t.soilOf(i)
	warm := t.p.Frost.Add(gain)
	code := FallbackNight
	switch {
	case t.s.Fallback == DutyOff || !t.p.Crop:
		code = FallbackNever
	case !t.st.Slot.Cold:
		code = FallbackMonths
	case !t.st.Slot.Night:
		code = FallbackDay
	case !usable:
		code = FallbackBlind
	case soil.C < warm:
		code = FallbackSoil
	default:
		w.run, w.free = true, true
	}
	w.reason = t.reason(i, code, float64(soil.C), float64(warm))
	return true
}

// discharge brings heat up while the crop is under its setpoint.
func (t *tick) discharge(i int, w *wish) (why Reason, ok bool) {
	p, sp := t.p, &t.p.Stores[i]
	on := t.on[i] && t.st.Stores[i].Doing == Discharge
	no := func(code Code, have, need float64) (Reason, bool) {
		return t.reason(i, code, have, need), false
	}
	soil, known := t.soilOf(i)
	air, limit, need := t.air, p.Setpoint, sp.Gain
	if on {
		limit, need = limit.Add(p.SetpointBand), need-sp.GainBand
	} else {
		air = air.Add(t.shiftK)
	}
	warmest := air
	if t.goodIntake() {
		warmest = max(air, t.breath(on))
	}
	gain := soil.C.Add(-soil.Uncertain).Sub(warmest)
	coldest := t.coldest(i, soil)
	switch {
	case !p.Allow.Discharge:
		return no(DischargeNotAllowed, 0, 0)
	case !known:
		return no(SoilLost, 0, 0)
	case air >= limit:
		return no(AboveSetpoint, float64(air), float64(limit))
	case gain < need || gain <= 0:
		return no(GainUnmet, float64(gain), float64(need))
	case coldest <= sp.SoilFloor:
		return no(SoilAtFloor, float64(coldest), float64(sp.SoilFloor))
	case t.in.VentOpen == On:
		return no(VentOpen, 0, 0)
	}
	worth := t.discharging()
	if worth.none != NoReason {
		return no(worth.none, 0, 0)
	}
	w.worth = worth
	have, cost, paid := t.earns(i, w, Discharge, soil.C, on)
	code, refusal := DischargeRatio, DischargeLowRatio
	if worth.money {
		code, refusal = DischargePays, DischargeNotWorth
	}
	if !worth.asked {
		code, have, cost = DischargeProtect, float64(t.air), float64(p.Setpoint)
	} else if !paid {
		return no(refusal, have, cost)
	}
	w.state, w.run = Discharge, true
	w.reason = t.reason(i, code, have, cost)
	return Reason{}, true
}

// capBand keeps charging from starting again right under the cap.
const capBand unit.Kelvin = 0.5

// charge puts the house's spare heat into the soil.
func (t *tick) charge(i int, w *wish) (why Reason, ok bool) {
	p, sp := t.p, &t.p.Stores[i]
	on := t.on[i] && t.st.Stores[i].Doing == Charge
	no := func(code Code, have, need float64) (Reason, bool) {
		return t.reason(i, code, have, need), false
	}
	soil, known := t.soilOf(i)
	air, need, limit := t.intake, sp.Margin, sp.SoilCap
	if on {
		need -= sp.MarginBand
	} else {
		air, limit = air.Add(t.shiftK), limit.Add(-capBand)
	}
	margin := air.Sub(soil.C.Add(soil.Uncertain))
	hottest := t.hottest(i, soil)
	switch {
	case !p.Allow.Charge:
		return no(ChargeNotAllowed, 0, 0)
	case !known:
		return no(SoilLost, 0, 0)
	case !t.intakeOK || !on && !t.goodIntake():
		return no(AirDoubtful, 0, 0)
	case margin < need || margin <= 0:
		return no(MarginUnmet, float64(margin), float64(need))
	case t.air <= p.ChargeFloor:
		return no(AtChargeFloor, float64(t.air), float64(p.ChargeFloor))
	case t.in.HeaterOn == On:
		return no(HeaterOn, 0, 0)
	case t.st.HeaterWaitS > 0:
		return no(HeaterRecent, t.st.HeaterWaitS, 0)
	case hottest >= limit:
		return no(SoilAtCap, float64(hottest), float64(limit))
	}
	worth := t.charging()
	if worth.none != NoReason {
		return no(worth.none, 0, 0)
	}
	w.worth = worth
	have, cost, paid := t.earns(i, w, Charge, soil.C, on)
	code, refusal := ChargeRatio, ChargeLowRatio
	if worth.money {
		code, refusal = ChargePays, ChargeNotWorth
	}
	if !paid {
		return no(refusal, have, cost)
	}
	w.state, w.run = Charge, true
	w.reason = t.reason(i, code, have, cost)
	return Reason{}, true
}

// breath is the air the fans take in: what is measured, and for a start what stores before it
// will have made of it.
func (t *tick) breath(on bool) unit.Celsius {
	air := t.air
	if t.intakeOK {
		air = t.intake
	}
	if !on {
		air = air.Add(t.shiftK)
	}
	return air
}

// earns chooses the speed of a wish and compares what it earns with what it costs. Asking the one
// speed is enough: heat grows more slowly than the flow and cost with its cube, so that where the
// speed that leaves most over does not pay, no slower one does (for speeds down to a sixth of each
// other at a band of 1.2).
func (t *tick) earns(i int, w *wish, as Activity, soil unit.Celsius, on bool) (have, cost float64, paid bool) {
	air := t.breath(on)
	w.stage = t.speed(i, w, as, air, soil)
	w.reckoned = t.usable(i, w.stage)
	w.heat = t.exchange(i, w.reckoned, air, soil)
	have, cost, paid = t.pays(w.worth, w.heat, on)
	if w.heat.powerW > 0 {
		w.yield = leftOver(w.worth, w.heat) / w.heat.powerW
	}
	return have, cost, paid
}

// dry runs the fans because damp air would leave its water in the cool pipes.
func (t *tick) dry(i int, w *wish) bool {
	p, sp, ss := t.p, &t.p.Stores[i], &t.st.Stores[i]
	on := t.on[i] && ss.Doing == Dry
	soil, ok := t.soilOf(i)
	h := t.in.Humidity
	limit, enough := p.HumidityLimit, h.Quality == judge.Good
	if on {
		limit, enough = limit-p.HumidityBand, h.Quality.Usable()
	}
	switch {
	case !p.Allow.Dry || !ok || !t.intakeOK:
	case !enough || h.V <= limit:
	case t.air <= p.DryFloor || t.in.HeaterOn == On:
	case t.hottest(i, soil) >= sp.SoilCap || t.coldest(i, soil) <= sp.SoilFloor:
	case t.intake <= soil.C || ss.DryS >= p.DryPerDayS:
	case !t.underDew(soil.C.Add(soil.Uncertain), h.V):
	default:
		*w = wish{state: Dry, run: true, reason: t.reason(i, DryDamp, h.V, limit)}
		return true
	}
	return false
}

// underDew reports whether soil is under the house's dew point by the dry gain.
func (t *tick) underDew(soil unit.Celsius, humidity float64) bool {
	dew := physics.DewPoint(humidity * physics.SatPressurePa(t.intake))
	return dew.Sub(soil) >= t.p.DryGain
}

// carry turns rest into the end of a minimum run, as long as that does no harm: never past the
// cap or the floor, past equal temperatures, under the charge floor, past the day's drying, into
// a running heater's heat or out of an open vent.
func (t *tick) carry(i int, w *wish, r Reason) {
	w.rest(Rest, r)
	ss := &t.st.Stores[i]
	if !t.on[i] || ss.RunS >= t.s.Stores[i].MinRunS {
		return
	}
	soil, ok := t.soilOf(i)
	sp := &t.p.Stores[i]
	switch ss.Doing {
	case Charge, Dry:
		if !ok || t.hottest(i, soil) >= sp.SoilCap || t.in.HeaterOn == On ||
			t.intakeOK && t.intake <= soil.C || t.airKnown && t.air <= t.p.ChargeFloor ||
			ss.Doing == Dry && ss.DryS >= t.p.DryPerDayS {
			return
		}
	case Discharge:
		if !ok || t.coldest(i, soil) <= sp.SoilFloor || t.in.VentOpen == On ||
			t.airKnown && t.air >= soil.C || t.goodIntake() && t.intake >= soil.C {
			return
		}
	default:
		return
	}
	w.state, w.run, w.stage = ss.Doing, true, max(1, ss.Stage)
	w.reason = t.reason(i, MinimumRun, ss.RunS, t.s.Stores[i].MinRunS)
}
