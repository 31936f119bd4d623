package replay_test

import (
	"fmt"
	"math"
	"time"

	"loambank/controller/decide"
)

// The settings of testdata/winter/tunnel.toml and, where it is silent, the defaults that the
// manual states: °C, K, shares and times.
const (
	setpoint, setpointBand        = 6.0, 1.0
	frostLimit, frostBand         = 1.0, 1.0
	frostGain                     = 1.0
	margin, marginBand            = 4.0, 1.5
	gain, gainBand                = 3.0, 1.0
	soilCap, soilFloor            = 26.0, 3.0
	underCap                      = 0.5 // charging starts only so far under the cap
	chargeFloor                   = setpoint + setpointBand + 2
	damp, dampBand                = 0.92, 0.04
	dryGain, dryFloor             = 1.0, setpoint + 2
	dryPerDay                     = 2 * time.Hour
	minRun, minRest, startToStart = 10 * time.Minute, 5 * time.Minute, 15 * time.Minute
	grace                         = 70 * time.Minute
	soilCarried                   = 48 * time.Hour
	fanW, minRatio, startBand     = 300.0, 3.0, 1.2
	storeJK                       = 10 * 14 * 0.6 * (0.5 + 0.3) * 2.3e6 // soil down to 0.3 m under the pipes
	neverReadSoil                 = 4.0
	restKPerHour, movedUncertain  = 0.02, 0.5
	nearDifference, nearRatio     = 1e-9, 0.005 // K; share of what is needed: two formulas for moist air
	nearDew, nearHorizon          = 0.03, 90.0  // K; s: two formulas for the sun
	nearCarried                   = 0.02        // K, in soil that was carried on by estimated heat
)

// doing is what the naive rules decide: a state, and whether the fan runs in it.
type doing struct {
	state decide.Activity
	on    bool
}

func (d doing) String() string { return fmt.Sprintf("%v, fan on %v", d.state, d.on) }

// naive decides for the one store and the one fan of the tunnel, from the rules as they are
// written down and with nothing of the core.
type naive struct {
	watches [cells]watch

	now       doing
	begun     time.Time
	last      time.Time // tick
	runSince  time.Time
	restSince time.Time
	startedAt time.Time // zero before the first start
	airAt     time.Time // last usable air
	dried     time.Duration
	soil      float64
	soilKnown bool
	soilLost  time.Duration
	uncertain float64
	heatW     float64
	root      float64       // last usable reading of the shallow soil
	rootLost  time.Duration // since then
	rootKnown bool

	close []string // comparisons of this tick that lie within their tolerance
	flip  bool     // those come out the other way
	why   string
}

// over reports have ≥ need.
func (n *naive) over(what string, have, need, within float64) bool {
	yes := have >= need
	if within > 0 && math.Abs(have-need) <= within {
		n.close = append(n.close, fmt.Sprintf("%s %.6g, limit %.6g", what, have, need))
		return yes != n.flip
	}
	return yes
}

// tick takes the readings of one tick and returns what the rules say; flipped is the same with
// every close comparison the other way, and close lists those.
func (n *naive) tick(m moment) (is, flipped doing, close []string) {
	dt := time.Duration(0)
	if n.begun.IsZero() {
		n.begun, n.restSince, n.airAt = m.at, m.at, m.at
	} else {
		dt = m.at.Sub(n.last)
	}
	if n.now.on && n.now.state == decide.Dry {
		n.dried += dt
	}
	if y, mo, d := n.last.In(m.at.Location()).Date(); m.at.Format(time.DateOnly) != fmt.Sprintf("%04d-%02d-%02d", y, mo, d) {
		n.dried = 0
	}
	n.last = m.at
	for i := range n.watches {
		n.watches[i].hear(m.at, m.cells[i])
	}
	n.carrySoil(dt)
	n.rootLost += dt
	if w := &n.watches[shallowCell]; w.how != lost {
		n.root, n.rootLost, n.rootKnown = w.value, 0, true
	}
	if n.air().how != lost {
		n.airAt = m.at
	}
	n.close, n.flip = nil, true
	flipped = n.decide(m.at)
	n.close, n.flip = nil, false
	return n.decide(m.at), flipped, n.close
}

func (n *naive) air() *watch { return &n.watches[airCell] }

// carrySoil goes on from the last soil by the heat the fan is thought to have moved.
func (n *naive) carrySoil(dt time.Duration) {
	if w := &n.watches[deepCell]; w.how != lost {
		n.soil, n.soilKnown, n.soilLost, n.uncertain = w.value, true, 0, 0
		return
	}
	moved := n.heatW * dt.Seconds() / storeJK
	n.soil += moved
	n.soilLost += dt
	n.uncertain += restKPerHour*dt.Hours() + movedUncertain*math.Abs(moved)
}

// take makes d what is done from this tick on.
func (n *naive) take(at time.Time, d doing) {
	switch {
	case d.on && !n.now.on:
		n.runSince, n.startedAt = at, at
	case !d.on && n.now.on:
		n.restSince = at
	}
	n.now, n.heatW = d, 0
	if d.on && n.air().how != lost && n.soilUsable() {
		n.heatW = heatIntoSoil(n.air().value, n.humidity(), n.soil)
	}
}

func (n *naive) humidity() float64 {
	if h := &n.watches[humidityCell]; h.how == sure {
		return h.value
	}
	return 0
}

func (n *naive) soilUsable() bool { return n.soilKnown && n.soilLost <= soilCarried }

// decide goes through the rules in their order.
func (n *naive) decide(at time.Time) doing {
	airLost := n.air().how == lost
	switch {
	case n.frost(at):
		return doing{decide.Frost, true}
	case airLost && at.Sub(n.airAt) > grace:
		return doing{decide.Fallback, n.fallback(at)}
	case !airLost && n.discharge():
		return n.start(at, decide.Discharge)
	case !airLost && n.charge(at):
		return n.start(at, decide.Charge)
	case !airLost && n.dry():
		return n.start(at, decide.Dry)
	case n.now.on && at.Sub(n.runSince) < minRun && n.mayFinish():
		return n.now
	}
	return doing{decide.Rest, false}
}

// start runs the fan, unless it must rest first.
func (n *naive) start(at time.Time, s decide.Activity) doing {
	if !n.now.on && (at.Sub(n.restSince) < minRest || !n.startedAt.IsZero() && at.Sub(n.startedAt) < startToStart) {
		n.why = "a start must wait"
		return doing{decide.Rest, false}
	}
	return doing{s, true}
}

func (n *naive) in(s decide.Activity) bool { return n.now.on && n.now.state == s }

// within is how far two computations of the same soil may lie apart.
func (n *naive) within() float64 {
	if n.soilLost > 0 {
		return nearCarried
	}
	return nearDifference
}

func (n *naive) frost(at time.Time) bool {
	n.why = "frost"
	air := n.air()
	if air.how == lost {
		return n.in(decide.Frost) && at.Sub(n.airAt) <= grace
	}
	soil, need := neverReadSoil, frostGain
	if n.soilKnown {
		soil = n.soil
		if air.how == sure && !n.over("soil over air", soil-air.value, math.SmallestNonzeroFloat64, n.within()) {
			return false
		}
	}
	if n.in(decide.Frost) {
		return air.value < frostLimit+frostBand && n.over("frost gain", soil-air.value, need/2, n.within())
	}
	return air.value <= frostLimit && n.over("frost gain", soil-air.value, need, n.within())
}

func (n *naive) fallback(at time.Time) bool {
	n.why = "fallback"
	_, month, day := at.Date()
	cold := month >= time.November || month < time.April || month == time.April && day <= 10
	warm := frostLimit + frostGain
	if n.in(decide.Fallback) {
		warm = frostLimit + frostGain/2
	}
	if !cold || !n.soilUsable() || !n.over("soil for the fallback", n.soil, warm, n.within()) {
		return false
	}
	rise, set := sun(at)
	return !n.over("sunrise", at.Sub(rise).Seconds(), 0, nearHorizon) || n.over("sunset", at.Sub(set).Seconds(), 0, nearHorizon)
}

func (n *naive) coldest() float64 {
	if n.rootKnown && n.rootLost <= soilCarried {
		return n.root - restKPerHour*n.rootLost.Hours()
	}
	return n.soil
}

func (n *naive) hottest() float64 {
	if n.rootKnown && n.rootLost <= soilCarried {
		return max(n.root+restKPerHour*n.rootLost.Hours(), n.soil)
	}
	return n.soil
}

func (n *naive) discharge() bool {
	n.why = "discharge"
	limit, need := setpoint, gain
	if n.in(decide.Discharge) {
		limit, need = setpoint+setpointBand, gain-gainBand
	}
	air := n.air().value
	return air < limit && n.soilUsable() && n.over("gain", n.soil-n.uncertain-air, need, n.within()) &&
		n.coldest() > soilFloor
}

func (n *naive) charge(at time.Time) bool {
	n.why = "charge"
	on := n.in(decide.Charge)
	need, limit, band := margin, soilCap-underCap, startBand
	if on {
		need, limit, band = margin-marginBand, soilCap, 1
	}
	air, share := n.air(), worthShare(at)
	if !n.soilUsable() || !on && air.how != sure || air.value <= chargeFloor || n.hottest() >= limit || share <= 0 {
		return false
	}
	if !n.over("margin", air.value-n.soil-n.uncertain, need, n.within()) {
		return false
	}
	least := band * minRatio / share
	return n.over("heat for electricity", heatIntoSoil(air.value, n.humidity(), n.soil)/fanW, least, nearRatio*least)
}

func (n *naive) dry() bool {
	n.why = "dry"
	h, air := &n.watches[humidityCell], n.air().value
	limit, enough := damp, h.how == sure
	if n.in(decide.Dry) {
		limit, enough = damp-dampBand, h.how != lost
	}
	switch {
	case !enough || h.value <= limit || air <= dryFloor || n.dried >= dryPerDay || !n.soilUsable():
		return false
	case n.hottest() >= soilCap || n.coldest() <= soilFloor || air <= n.soil:
		return false
	}
	return n.over("soil under the dew point", dew(h.value*vapourPa(air))-n.soil-n.uncertain, dryGain, nearDew)
}

// mayFinish says whether a minimum run may be finished: never past the cap or the floor, nor past
// equal temperatures, nor with heat that the crop needs.
func (n *naive) mayFinish() bool {
	n.why = "minimum run"
	known, air := n.air().how != lost, n.air().value
	switch n.now.state {
	case decide.Charge, decide.Dry:
		return n.soilUsable() && n.hottest() < soilCap && !(known && (air <= n.soil || air <= chargeFloor)) &&
			!(n.now.state == decide.Dry && n.dried >= dryPerDay)
	case decide.Discharge:
		return n.soilUsable() && n.coldest() > soilFloor && !(known && air >= n.soil)
	}
	return false
}
