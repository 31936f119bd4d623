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
	HoldSE      unit.Kelvin
	Bind        Bind
	Low         Low
	Stores      [MaxStores]Left
}

// Left is what is left in one store.
type Left struct {
	Known     bool
	Fill      float64 // 0 at the useful temperature, 1 at the cap or the season's highest
	UsefulKWh float64 // above the useful temperature
	UsefulSE  float64
	RateW     float64 // that it gives at full speed once the soil next to its pipes has settled
	// HoursLeft until the store is down to its useful temperature at tonight's loss. Lasts says that
	// tonight asks nothing of it, or that no low is expected; then HoursLeft means nothing.
	HoursLeft float64
	Lasts     bool
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
	t.HoldSE = unit.Kelvin(math.Sqrt(sq(rateSE)+sq(floorK*v.FloorWK.SE)+sq(overK*v.LossWK.SE)) / loss)
	if !now.Low.Temp.Known {
		return t
	}
	needW := loss*float64(now.Setpoint.Sub(now.Low.Temp.C)) - floor*floorK
	t.hours(now, needW, rateW)
	return t
}

// hours spreads what the house needs over the stores by what each gives, and finds what binds.
func (t *Tonight) hours(now *Now, needW, rateW float64) {
	t.Bind = Holds
	for i := range t.Stores {
		left := &t.Stores[i]
		if !left.Known {
			continue
		}
		left.Lasts = true
		if drawW := min(needW, rateW); drawW > 0 && left.RateW > 0 {
			left.HoursLeft = left.UsefulKWh * 1000 / (drawW * left.RateW / rateW)
			left.Lasts = false
			if left.HoursLeft*hourS < now.NightS {
				t.Bind = BindAmount
			}
		}
	}
	if now.Low.Temp.C < t.HoldOutside {
		t.Bind = BindRate
	}
}

func (p *Params) left(s *Settings, i int, now *Now, left *Left) {
	st := &now.Stores[i]
	soil := st.Soil.clean()
	if !soil.Known {
		return
	}
	left.Known = true
	v := p.Values(s, i)
	over := max(0, float64(soil.C.Sub(st.Useful)))
	left.UsefulKWh = v.CapacityJK.Value * over / jPerKWh
	left.UsefulSE = v.CapacityJK.SE * over / jPerKWh
	top := or(st.Cap, p.Stores[i].Highest)
	if span := float64(top.C.Sub(st.Useful)); top.Known && span > 0 {
		left.Fill = min(over/span, 1)
	}
	if over > 0 && soil.C > now.Setpoint {
		h := p.Heat(s, i, 1, physics.Air{C: now.Setpoint}, soil.C, true)
		left.RateW = max(0, -h.TotalW()) + s.Stores[i].PowerW // a fan's electricity ends as heat in the house
	}
}
