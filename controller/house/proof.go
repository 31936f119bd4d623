package house

import (
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// What a fan draws, as shares of what it should: common practice, no source.
const (
	stillShare = 0.1 // under it no motor turns: its electronics alone draw so much
	weakShare  = 0.6 // under it a motor turns nearly free: the belt slips or a pipe is blocked
)

// sight is a contact or a meter that watches fans. The zero value is none that can be read.
type sight struct {
	value float64 // 0 or 1, or W
	known bool
}

// witness is what the probes of a store say of its fans.
type witness struct {
	airflow, power [decide.MaxFans]sight // of each fan alone
	anyAir, total  sight                 // one contact, one meter for all fans of the store
}

// hear notes one probe. Of several that watch the same, the one that says most counts: air moves
// where one contact sees it, and a bill is never too small.
func (w *witness) hear(p *Probe, v judge.Verdict) {
	if !v.Quality.Usable() {
		return
	}
	own, all := &w.airflow, &w.anyAir
	if p.Judge.Role == judge.FanPower {
		own, all = &w.power, &w.total
	}
	to := all
	if p.Fan != AllFans {
		to = &own[p.Fan]
	}
	*to = sight{max(to.value, v.Value), true}
}

// tell fills in what is seen and measured of each fan. last is what they were told to do while
// the probes were read.
func (w *witness) tell(s *decide.Store, last *decide.StoreDecision, in *decide.StoreInputs) {
	shared := w.share(s, last)
	for j := range s.Fans {
		fan, stage, to := &s.Fans[j], last.Stages[j], &in.Fans[j]
		flow := byContact(w.airflow[j])
		if !w.airflow[j].known {
			flow = shared.one(byContact(w.anyAir), stage)
		}
		power, weak := shared.one(shared.power, stage), shared.weak
		if own := w.power[j]; own.known {
			power, weak = byMeter(own.value, expectedW(fan, stage), stage > 0)
			to.PowerW, to.PowerKnown = own.value, true
		} else if w.total.known {
			to.PowerW, to.PowerKnown = shared.partW(fan, stage), true
		}
		to.Proof, to.Weak = agree(flow, power, weak, stage > 0)
	}
}

// common is what the one meter of a store says of the fans that have none of their own.
type common struct {
	running bool // a fan of the store is commanded on
	power   decide.Proof
	weak    bool // together they draw too little; which of them is not known
	leftW   float64
	wantW   float64 // expected of them, or all they could draw where none of them is commanded on
	metered bool    // one of them is commanded on
}

func (w *witness) share(s *decide.Store, last *decide.StoreDecision) common {
	c := common{leftW: w.total.value}
	full, whole := 0.0, w.total.known
	for j := range s.Fans {
		c.running = c.running || last.Stages[j] > 0
		if w.power[j].known {
			c.leftW -= w.power[j].value
			whole = false // the errors of two meters prove nothing of a small fan
			continue
		}
		c.metered = c.metered || last.Stages[j] > 0
		c.wantW += s.Fans[j].PowerAt(last.Stages[j])
		full += s.Fans[j].PowerW
	}
	if !c.metered {
		c.wantW = full
	}
	c.leftW = max(0, c.leftW)
	if whole {
		c.power, c.weak = byMeter(c.leftW, c.wantW, c.metered)
	}
	return c
}

// one is what a contact or meter for all fans says of one of them: while others run, that
// something runs says nothing of one that is told to be off. With all of them off it may be any.
func (c *common) one(seen decide.Proof, stage uint8) decide.Proof {
	if seen == decide.SeenRunning && c.running && stage == 0 {
		return decide.NoProof
	}
	return seen
}

// partW is a fan's share of the common meter, by what is expected of each.
func (c *common) partW(f *decide.Fan, stage uint8) float64 {
	mine := f.PowerAt(stage)
	if !c.metered {
		mine = f.PowerW
	}
	if !(c.wantW > 0) {
		return 0
	}
	return c.leftW * mine / c.wantW
}

// expectedW is what the fan should draw; of one that is off, what it would at full speed.
func expectedW(f *decide.Fan, stage uint8) float64 {
	if stage == 0 {
		return f.PowerW
	}
	return f.PowerAt(stage)
}

func byContact(s sight) decide.Proof {
	switch {
	case !s.known:
		return decide.NoProof
	case s.value >= 0.5:
		return decide.SeenRunning
	}
	return decide.SeenStill
}

// byMeter compares power with what is expected. A fan that is off and stuck at a low speed draws
// too little to be seen.
func byMeter(powerW, wantW float64, on bool) (seen decide.Proof, weak bool) {
	switch {
	case !(wantW > 0):
		return decide.NoProof, false
	case powerW < stillShare*wantW:
		return decide.SeenStill, false
	}
	return decide.SeenRunning, on && powerW < weakShare*wantW
}

// agree settles what airflow and power say of one fan. Where they differ on a fan that is told to
// run, it may run, so it goes on and is warned of as weak: a motor that turns and moves no air, or
// a meter that fell off. Of one that is told to be off power decides: wind and other fans move air.
// One that is lost tells nothing.
func agree(flow, power decide.Proof, weak, on bool) (decide.Proof, bool) {
	switch {
	case power == decide.NoProof:
		return flow, false
	case flow == decide.NoProof || flow == power:
		return power, weak
	case on:
		return decide.SeenRunning, true
	}
	return power, false
}
