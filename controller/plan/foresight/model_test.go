package foresight

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/physics"
	"loambank/controller/trial"
)

// TestAModelIsFoundAgain makes the two years of a house whose numbers are known, and wants them back.
func TestAModelIsFoundAgain(t *testing.T) {
	const capacityJK, fades, rises, later, into, out = 80e6, 0.004, 0.5, 0.7, 0.4, 0.55
	m := days(120)
	full := &m.speeds[1]
	// Nights differ, so that not all of the heat is of use at once.
	chance := rand.New(rand.NewPCG(1, 1))
	var never, moved []trial.Hour
	excessK := 0.0
	for at := range m.hours {
		h := &m.hours[at]
		h.sparesW *= chance.Float64()
		never = append(never, trial.Hour{HeaterKWh: h.sparesW / 1000, Soil: h.soil})
	}
	m.later()
	for at := range m.hours {
		h := &m.hours[at]
		fans := trial.Hour{Air: h.air, Vapour: h.vapour, Soil: h.soil.Add(unit.Kelvin(excessK))}
		if chance.Float64() < 0.5 {
			heat := physics.Exchange(airOf(&fans), full.flowM3s, m.full, fans.Soil, m.pressurePa).TotalW()
			share := into
			if heat < 0 {
				share = out
			}
			fans.HeatKWh, fans.FanKWh = share*heat/1000, full.powerW/1000
		}
		powerW := 1000 * (fans.FanKWh - fans.HeatKWh)
		atOnceW := 0.0
		if h.sparesW > 0 {
			atOnceW = min(powerW, h.sparesW)
		}
		risesW := fades * capacityJK * excessK / hourS * rises
		spared := hourS * (atOnceW*h.fuel + (powerW-atOnceW)*h.later*later + risesW*h.atMargin())
		fans.HeaterKWh = never[at].HeaterKWh - spared/h.fuel/jPerKWh
		excessK += fans.HeatKWh*jPerKWh/capacityJK - fades*excessK
		fans.Soil = h.soil.Add(unit.Kelvin(excessK))
		moved = append(moved, fans)
	}
	before := m.hours[30].later
	*m = Model{hours: m.hours, speeds: m.speeds, pressurePa: m.pressurePa, lossWK: m.lossWK, full: m.full}
	m.fit(never, moved)
	for _, c := range []struct {
		name             string
		got, want, share float64
	}{
		{"share of heat into the stores", m.into, into, 0.03},
		{"share of heat out of them", m.out, out, 0.03},
		{"their capacity", m.capacityJK, capacityJK, 0.03},
		{"what fades of their heat", m.fadesPerH, fades, 0.05},
		{"the house's share of that", m.rises, rises, 0.1},
		{"what heat is worth later", m.hours[30].later / before, later, 0.05},
	} {
		if math.Abs(c.got-c.want) > c.share*c.want {
			t.Errorf("%s is %.4g, was %.4g", c.name, c.got, c.want)
		}
	}
	if m.lowK > -0.1 || m.highK < 1 {
		t.Errorf("the stores were from %.2f to %.2f K over", m.lowK, m.highK)
	}
}

// TestNothingMovedIsNothingPlanned: fans that never ran tell nothing, and worths of that never run them.
func TestNothingMovedIsNothingPlanned(t *testing.T) {
	m := days(10)
	var still []trial.Hour
	for at := range m.hours {
		still = append(still, trial.Hour{Soil: m.hours[at].soil, HeaterKWh: m.hours[at].sparesW / 1000})
	}
	m.fit(still, still)
	if m.into != 0 || m.out != 0 || m.capacityJK <= 0 {
		t.Errorf("%+v", *m)
	}
	if earned := m.Worths().Earned; earned != 0 {
		t.Errorf("it earns %v", earned)
	}
}

// TestAModelIsOfItsHouse: its speeds are few of those that fans have, and it loses with its air what floor and
// crop do not keep.
func TestAModelIsOfItsHouse(t *testing.T) {
	h := settings(t).Houses[0]
	d := &h.House.Decide
	f := &d.Stores[0].Fans[0]
	f.Levels = []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}
	single := *f
	single.Levels = []float64{1}
	d.Stores[0].Fans = append(d.Stores[0].Fans, single)
	years := &trial.Result{Trace: make([]trial.Hour, 240)}
	for i := range years.Trace {
		years.Trace[i].Time = time.Date(2002, 1, 15, i, 0, 0, 0, time.UTC)
	}
	m := NewModel(&h, years, years)
	if want := d.HouseLossWK / 0.6; math.Abs(m.lossWK-want) > 1e-9*want {
		t.Errorf("it loses %v W/K, want %v", m.lossWK, want)
	}
	for k, s := range m.speeds {
		level := 0.2 * float64(k+1)
		flowM3s, powerW := f.FlowM3s*(level+1), f.PowerW*(level*level*level+1)
		if s.stage != uint8(2*(k+1)) || math.Abs(s.flowM3s-flowM3s) > 1e-9 || math.Abs(s.powerW-powerW) > 1e-6 {
			t.Errorf("speed %d: %+v, want %v m³/s at %v W", k, s, flowM3s, powerW)
		}
	}
	if len(m.speeds) != 5 {
		t.Errorf("%d speeds", len(m.speeds))
	}
}

// TestHeatIsWorthWhatItSpares: up to what the heater would give it is worth fuel, what is beyond less,
// and nothing while vents are open or the heater gives all it has.
func TestHeatIsWorthWhatItSpares(t *testing.T) {
	h := hour{sparesW: 3000, fuel: 0.1 / jPerKWh, later: 0.02 / jPerKWh}
	for _, c := range []struct {
		name          string
		powerW, later float64
		want          float64
	}{
		{"under the heater's heat", 2000, 1, 0.2},
		{"beyond it", 5000, 1, 0.3 + 0.04},
		{"beyond it, with later worth twice", 5000, 2, 0.3 + 0.08},
		{"taken away", -1000, 1, -0.1},
	} {
		if got := h.given(c.powerW, c.later); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	m := &Model{hours: []hour{{sparesW: 17000}, {sparesW: 16800}, {sparesW: 9000}, {open: true}, {}}}
	for i := range m.hours {
		m.hours[i].fuel = 1
	}
	m.spent(0)
	m.later()
	if m.hours[0].sparesW != 0 || m.hours[1].sparesW != 0 || m.hours[2].sparesW != 9000 {
		t.Errorf("heaters that give all they have: %+v", m.hours)
	}
	m.spent(8000)
	if m.hours[2].sparesW != 0 {
		t.Errorf("a heater of 8 kW that gives 9: %+v", m.hours[2])
	}
	m.hours[2].sparesW = 9000
	if m.hours[3].later != 0 || !(m.hours[4].later > 0 && m.hours[4].later < 1) || m.hours[2].atMargin() != 1 {
		t.Errorf("later: %+v", m.hours)
	}
}

// TestAnHourHasThePricesOfItsBeginning: the example farm's evening is from 16:00 to 21:00 on weekdays,
// and the stores' limits are those of the strictest.
func TestAnHourHasThePricesOfItsBeginning(t *testing.T) {
	d := settings(t).Houses[0].House.Decide
	zone := d.Season.Site.Zone
	for _, c := range []struct {
		name  string
		ends  time.Time
		want  float64 // currency per kWh
		month time.Month
	}{
		{"the hour before the evening", time.Date(2002, 1, 15, 16, 0, 0, 0, zone), 0.17, time.January},
		{"the first of the evening", time.Date(2002, 1, 15, 17, 0, 0, 0, zone), 0.29, time.January},
		{"the last of the evening", time.Date(2002, 1, 15, 21, 0, 0, 0, zone), 0.29, time.January},
		{"the last of a month", time.Date(2002, 2, 1, 0, 0, 0, 0, zone), 0.17, time.January},
	} {
		h := hourOf(&d, &trial.Hour{Time: c.ends, HeaterKWh: 2, VentPerH: 1})
		if got := h.electricity * jPerKWh; math.Abs(got-c.want) > 1e-12 || h.month != c.month {
			t.Errorf("%s: %v in %v", c.name, got, h.month)
		}
		if h.sparesW != 2000 || !h.open || math.Abs(h.fuel*jPerKWh-d.Tariff.FuelHeatPerKWh) > 1e-12 {
			t.Errorf("%s: %+v", c.name, h)
		}
	}
	d.Policies = []decide.Policy{{ChargeFloor: 6, Stores: []decide.StorePolicy{{SoilCap: 28, SoilFloor: 5}, {SoilCap: 25, SoilFloor: 3}}}}
	d.Season.Windows = nil
	h := hourOf(&d, &trial.Hour{Time: time.Date(2002, 1, 15, 16, 0, 0, 0, zone)})
	if h.cap != 25 || h.floor != 5 || h.chargeFloor != 6 {
		t.Errorf("limits of two stores: %+v", h)
	}
}

// TestTheAirAnswersItsFans: what fans move is less once the air follows, unless vents or the heater hold
// it, and what fades of a store that is too warm helps a house that is heated.
func TestTheAirAnswersItsFans(t *testing.T) {
	m := days(1)
	s, soil := &m.speeds[1], unit.Celsius(12)
	warm, cold := physics.Air{C: 25, W: 0.004}, physics.Air{C: 2, W: 0.004}
	heat := func(h hour, w way, air physics.Air, settled bool) float64 {
		return m.heatW(&h, w, s, air, soil, settled)
	}
	for _, c := range []struct {
		name       string
		less, more float64
	}{
		{"charging from a closed house", heat(hour{}, charge, warm, false), heat(hour{open: true}, charge, warm, false)},
		{"discharging where no heater runs", -heat(hour{}, discharge, cold, false), -heat(hour{sparesW: 9000}, discharge, cold, false)},
	} {
		if !(c.less > 0 && c.less < 0.95*c.more) {
			t.Errorf("%s moves %.0f W, else %.0f", c.name, c.less, c.more)
		}
	}
	up := heat(hour{}, discharge, cold, true)
	m.out /= 2
	if half := heat(hour{}, discharge, cold, true); math.Abs(up-2*half) > 1e-9*math.Abs(up) {
		t.Errorf("with half the share out of the stores %v W, else %v", half, up)
	}
	if got, want := heat(hour{}, charge, warm, true), heat(hour{open: true}, charge, warm, false); got != want {
		t.Errorf("air that shows it already: %.0f W, want %.0f", got, want)
	}
	if heat(hour{}, charge, cold, true) != 0 || heat(hour{}, discharge, warm, true) != 0 {
		t.Error("heat flows uphill")
	}
	m.hours = []hour{{sparesW: 9000, fuel: 1e-7}}
	if v := m.resting(0, 2); v.toK != 2*(1-m.fadesPerH) || math.Abs(v.money-m.rises*2*m.fadesPerH*m.capacityJK*1e-7) > 1e-12 {
		t.Errorf("%+v", v)
	}
}
