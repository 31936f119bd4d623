package learn

import "math"

// Accounts are the heat of a store, told twice.
type Accounts struct {
	AirJ    float64 `json:"air_j"`   // by the air, with the learned flow, since they began
	DoubtJ  float64 `json:"doubt_j"` // one standard error of AirJ, but for the flow's
	SoilJ   float64 `json:"soil_j"`  // by the soil: stored heat and losses, with the learned capacity
	Days    int     `json:"days"`    // of running
	Both    float64 `json:"both"`    // Σ air·soil, K²; fading
	Air2    float64 `json:"air2"`    // Σ air², K²
	Apart   float64 `json:"apart"`   // Σ soil − air, K
	Spread2 float64 `json:"spread2"` // Σ noise², K²
	Moved   float64 `json:"moved"`   // Σ |air|, K
	Noise2  float64 `json:"noise2"`  // Σ (air·noise)², K⁴
	OffFor  int     `json:"off_for"` // days in a row, of one side, that they differed by over 2 σ
	Side    int     `json:"side"`    // 1: the soil tells of more
	Charge  Pair    `json:"charge"`  // fall of the air's temperature, seen and foretold, fading
	Bring   Pair    `json:"bring"`   // the same while heat came up
	InK     Pair    `json:"in_k"`    // duct-in over house air, K times s, and s
	Power   Pair    `json:"power"`   // cube root of power over stated, times s, and s
	Water   Contact `json:"water"`
}

// Pair is two sums that fade together.
type Pair struct {
	A float64 `json:"a"`
	B float64 `json:"b"`
}

// fadeS is the running time over which recent sums fade.
const fadeS = 30 * hourS

func (p *Pair) add(a, b, runS float64) {
	keep := math.Exp(-runS / fadeS)
	p.A, p.B = p.A*keep+a, p.B*keep+b
}

// leastRun is the B, K s or s, under which a ratio says nothing.
const leastRun = 2 * hourS

// ratio is A/B, or 1 where there is too little to say.
func (p Pair) ratio() float64 {
	if math.Abs(p.B) < leastRun {
		return 1
	}
	return p.A / p.B
}

// book enters a day, both sides in K of the store.
func (s *Store) book(q *StoreParams, air, soil, noise, capacityJK float64) {
	a := &q.Account
	capacity := capacityJK * math.Exp(q.Soil.X[capacityAt])
	a.AirJ += air * capacity
	a.DoubtJ += q.Day.DoubtJ * math.Exp(q.Soil.X[flowAt])
	a.SoilJ += soil * capacity
	const leastK = 0.03 // a day that the fans rested tells nothing of their heat
	if math.Abs(air) < leastK {
		return
	}
	a.Days++
	const keep = 0.9
	a.Both, a.Air2 = keep*a.Both+air*soil, keep*a.Air2+air*air
	a.Noise2 = keep*keep*a.Noise2 + air*air*noise*noise
	a.Apart, a.Moved = keep*a.Apart+soil-air, keep*a.Moved+math.Abs(air)
	a.Spread2 = keep*keep*a.Spread2 + noise*noise
	side := q.apart()
	if side == 0 || side != a.Side {
		a.OffFor = 0
	}
	if side != 0 {
		a.OffFor++
	}
	a.Side = side
}

// settledDays is how many days of running the soil must have been learned from.
const settledDays = 30

// alike is how many days err alike: common practice, no source.
const alike = 3.0

// lump is the share of the heat that soil that is no lump leaves out: a quarter, with which years of
// simulated houses raise no false alarm but in a day of a thousand. Where the probes themselves show
// a change, less needs to be allowed for.
func (a *Accounts) lump() float64 {
	const whole, seen, offShare = 0.25, 0.1, 0.2
	charge, bring := a.Charge.ratio(), a.Bring.ratio()
	if math.Abs(a.Power.ratio()-1) > offShare || math.Abs(charge-bring) > offShare || a.Water == On {
		return seen
	}
	return whole
}

// apart is 1 or −1 where the accounts differ by over two standard errors, in ratio or in sum: the soil
// tells of more or of less, with the sign of the heat or for the sum into the soil.
func (q *StoreParams) apart() int {
	a := &q.Account
	if a.Days < settledDays || a.Air2 == 0 {
		return 0
	}
	off := a.Both/a.Air2 - 1
	if math.Abs(off) <= 2*q.ratioOfAccountsSE() {
		se := math.Sqrt(alike*a.Spread2 + sq(a.Moved)*(sq(a.lump())+sq(q.Soil.ratioSE())))
		if off = a.Apart; math.Abs(off) <= 2*se {
			return 0
		}
	}
	if off < 0 {
		return -1
	}
	return 1
}

// ratioOfAccountsSE is the error of the ratio of the accounts.
func (q *StoreParams) ratioOfAccountsSE() float64 {
	a := &q.Account
	days := math.Sqrt(alike*max(0, a.Noise2)) / max(a.Air2, 1e-12)
	return math.Sqrt(days*days + sq(a.lump()) + sq(q.Soil.ratioSE()))
}

// watch keeps what tells one cause of a mismatch from another.
func (s *Store) watch(q *StoreParams, sample *Sample, b *StoreSample, h passed) {
	a := &q.Account
	if b.Water != Unknown {
		a.Water = b.Water
	}
	if b.Level == 0 {
		return
	}
	if h.seen != 0 && h.foretold > 0 {
		a.Charge.add(h.seen*sample.StepS, h.foretold*sample.StepS, sample.StepS)
	} else if h.seen != 0 {
		a.Bring.add(h.seen*sample.StepS, h.foretold*sample.StepS, sample.StepS)
	}
	if b.DuctIn.Known && sample.Air.Known && q.RunS > settleS {
		a.InK.add(float64(b.DuctIn.C.Sub(sample.Air.C))*sample.StepS, sample.StepS, sample.StepS)
	}
	if b.FanW.Known && s.PowerW > 0 {
		a.Power.add(math.Cbrt(b.FanW.V/s.PowerW)/b.Level*sample.StepS, sample.StepS, sample.StepS)
	}
}

// Cause is what most likely parts the two accounts. The zero value is that they agree, or that it is
// too early to tell.
type Cause uint8

// The closed list of causes.
const (
	Agree   Cause = iota
	Airflow       // the fans move more or less air than was learned
	Probe         // a duct probe reads too high or too low
	Leak          // air or heat leaves the pipes on its way
	Water         // water stands in the pipes: rising air takes heat up as vapour, which no thermometer sees
)

// String is the cause in a word.
func (c Cause) String() string {
	switch c {
	case Airflow:
		return "airflow"
	case Probe:
		return "probe offset"
	case Leak:
		return "leak"
	case Water:
		return "water in pipes"
	}
	return "agree"
}

// Balance is how the two accounts of a store agree, with the numbers that were compared.
type Balance struct {
	AirJ, SoilJ float64 // since they began, net into the soil
	AirSE       float64 // of AirJ: airflow, duct probes, hygrometer, where water condenses
	Days        int     // of running
	Ratio       float64 // soil over air in the last ten days or so; 1 where there is too little
	SE          float64 // of Ratio
	OffFor      int     // days in a row, on one side, that they differed by over two standard errors
	Cause       Cause   // once OffFor is 3

	ChargeShare float64 // fall of the air's temperature seen over learned, while charging; 1 unknown
	BringShare  float64 // the same while bringing heat up
	InOverAir   float64 // duct-in less house air while running, K
	SpeedShare  float64 // cube root of drawn over stated power
}

// mostOffDays is how long accounts may differ before a cause is named.
const mostOffDays = 3

// Balance compares the accounts of store i.
func (p *Params) Balance(i int) Balance {
	q := &p.Stores[i]
	a := &q.Account
	b := Balance{
		AirJ: a.AirJ, SoilJ: a.SoilJ, Days: a.Days, Ratio: 1, SE: 1, OffFor: a.OffFor,
		ChargeShare: a.Charge.ratio(), BringShare: a.Bring.ratio(), SpeedShare: a.Power.ratio(),
	}
	if a.InK.B > leastRun {
		b.InOverAir = a.InK.A / a.InK.B
	}
	if a.Air2 > 0 {
		b.Ratio, b.SE = a.Both/a.Air2, q.ratioOfAccountsSE()
	}
	b.AirSE = math.Hypot(a.DoubtJ, a.AirJ*q.Soil.sd(flowAt))
	if a.OffFor >= mostOffDays {
		b.Cause = b.cause(a.Water)
	}
	return b
}

// cause judges by the numbers; its limits are common practice, no source.
func (b *Balance) cause(water Contact) Cause {
	const offK, offShare = 0.75, 0.07
	charge, bring := b.ChargeShare-1, b.BringShare-1
	switch {
	case water == On, bring < -2*offShare && math.Abs(charge) < 2*offShare:
		return Water
	case math.Abs(b.InOverAir) > offK, charge*bring < 0 && math.Abs(charge-bring) > 2*offShare:
		return Probe
	case math.Abs(b.SpeedShare-1) > offShare, b.Ratio > 1, charge > offShare/2 || bring > offShare/2:
		return Airflow
	}
	return Leak
}
