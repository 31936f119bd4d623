package learn

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// Now is what tonight's figures start from.
type Now struct {
	Setpoint unit.Celsius // house air to hold
	Low      Low          // see Params.ExpectedLow
	NightS   float64      // until the sun warms the house again, s
	Stores   [MaxStores]StoreNow
}

// StoreNow is that of one store. Where Soil is not known, nothing is said of it.
type StoreNow struct {
	Soil   Temp         // between the pipes
	Root   Temp         // near the surface; unknown: as Soil
	Useful unit.Celsius // soil under which it is not worth running: setpoint and gain, or the floor
	Cap    Temp         // soil_cap; unknown: the season's highest
}

// Bind is which of the figures ends first tonight. The zero value is that it is not known.
type Bind uint8

// The closed list of what binds.
const (
	BindUnknown Bind = iota
	Holds            // neither: the setpoint holds until morning
	BindRate         // it gets colder than store and heater can make good
	BindAmount       // the store is used up before morning
)

// String is what binds in a word.
func (b Bind) String() string {
	switch b {
	case Holds:
		return "holds"
	case BindRate:
		return "rate"
	case BindAmount:
		return "amount"
	}
	return "unknown"
}

// Tonight is what is left tonight.
type Tonight struct {
	Known       bool         // some store's soil is known
	HoldOutside unit.Celsius // the outside down to which stores and heater hold the setpoint
	HoldSE      unit.Kelvin  // of what was learned, and of tonight's sky and wind
	Bind        Bind
	Low         Low
	Stores      [MaxStores]Left
}

// Left is what is left in one store.
type Left struct {
	Known bool
	Fill  float64 // 0 at the useful temperature, 1 at the cap or the season's highest
	// UsefulKWh is what its fans can bring up at full speed until the soil between the pipes is down to
	// the useful temperature, in ten days at most. The soil next to the pipes gives first and that probe
	// follows half a day later, so that it is more than the probe's own fall makes.
	UsefulKWh float64
	UsefulSE  float64
	RateW     float64 // that it gives at full speed once the soil next to its pipes has settled
	// HoursLeft until the store is down to its useful temperature at tonight's loss. Lasts says that
	// tonight asks nothing of it, that it outlasts ten days, or that no low is expected; then HoursLeft
	// means nothing.
	HoursLeft float64
	Lasts     bool

	overK float64 // soil over the useful temperature
	soilW float64 // of RateW what comes out of the soil
}

// Tonight returns what is left.
func (p *Params) Tonight(s *Settings, now *Now) (t Tonight) {
	t.Low = now.Low
	var rateW, rateSE, soilC, n float64
	for i := range s.stores() {
		left := &t.Stores[i]
		p.left(s, i, now, left)
		if !left.Known {
			continue
		}
		flow := p.Values(s, i).FlowM3s
		rateW += left.RateW
		rateSE = math.Hypot(rateSE, left.RateW*flow.SE/max(flow.Value, 1e-9))
		soilC += float64(or(now.Stores[i].Root, now.Stores[i].Soil).C)
		n++
	}
	if n == 0 {
		return t
	}
	t.Known = true
	v := p.HouseValues(s)
	loss, floor := v.LossWK.Value, v.FloorWK.Value
	floorK := soilC/n - float64(now.Setpoint)
	heaterW := 0.0
	if s.Heater.Present {
		heaterW = s.Heater.OutputW
	}
	overK := (rateW + heaterW + floor*floorK) / loss
	t.HoldOutside = now.Setpoint.Add(unit.Kelvin(-overK))
	skyW := nightK * math.Sqrt(max(1, p.House.Fit)) * (loss + floor)
	t.HoldSE = unit.Kelvin(math.Sqrt(sq(rateSE)+sq(floorK*v.FloorWK.SE)+sq(overK*v.LossWK.SE)+sq(skyW)) / loss)
	if !now.Low.Temp.Known {
		return t
	}
	needW := loss*float64(now.Setpoint.Sub(now.Low.Temp.C)) - floor*floorK
	t.hours(p, s, now, needW, rateW)
	return t
}

// hours spreads what the house needs over the stores by what each gives, and finds what binds.
func (t *Tonight) hours(p *Params, s *Settings, now *Now, needW, rateW float64) {
	t.Bind = Holds
	for i := range t.Stores {
		left := &t.Stores[i]
		if !left.Known {
			continue
		}
		left.Lasts = true
		if drawW := min(needW, rateW); drawW > 0 && left.RateW > 0 {
			left.HoursLeft, left.Lasts = p.until(s, i, now, left, left.soilW*drawW/rateW)
			if !left.Lasts && left.HoursLeft*hourS < now.NightS {
				t.Bind = BindAmount
			}
		}
	}
	if now.Low.Temp.C < t.HoldOutside {
		t.Bind = BindRate
	}
}

// until is StoreParams.until of store i.
func (p *Params) until(s *Settings, i int, now *Now, left *Left, drawW float64) (hours float64, lasts bool) {
	q := &p.Stores[i]
	return q.until(now.Stores[i].Soil, left.overK, drawW, p.Values(s, i).CapacityJK.Value, s.Stores[i].lagS())
}

func (p *Params) left(s *Settings, i int, now *Now, left *Left) {
	st := &now.Stores[i]
	soil := st.Soil.clean()
	if !soil.Known {
		return
	}
	left.Known = true
	over := max(0, float64(soil.C.Sub(st.Useful)))
	left.overK = over
	top := or(st.Cap, p.Stores[i].Highest)
	if span := float64(top.C.Sub(st.Useful)); top.Known && span > 0 {
		left.Fill = min(over/span, 1)
	}
	if over > 0 && soil.C > now.Setpoint {
		h := p.Heat(s, i, 1, physics.Air{C: now.Setpoint}, soil.C, true)
		left.soilW = max(0, -h.TotalW())
		left.RateW = left.soilW + s.Stores[i].PowerW // a fan's electricity ends as heat in the house
	}
	if over == 0 || left.soilW == 0 {
		return
	}
	v := p.Values(s, i)
	hours, _ := p.until(s, i, now, left, left.soilW)
	left.UsefulKWh = left.soilW * hours / 1000
	// What one lump of soil and its settled wall leave out, one standard error: against simulated nights.
	const lump = 0.2
	left.UsefulSE = left.UsefulKWh * math.Sqrt(sq(lump)+sq(v.CapacityJK.SE/v.CapacityJK.Value)+sq(v.FlowM3s.SE/v.FlowM3s.Value))
}
