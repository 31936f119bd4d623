package decide_test

import (
	"math"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/tariff"
)

// By hand, as in heat_test.go: what a fan of 0.6 m³/s and 600 W moves at standard pressure, kW.
func downKW() float64 { return 0.6 / 0.8443 * 1006 * 0.6 * 10 / 1000 } // house 25 °C, soil 15 °C
func upKW() float64   { return 0.6 * 101325 / (287.042 * 277.15) * 1006 * 0.6 * 8 / 1000 }

const fanKW = 0.6

func electricity(price float64) func(*decide.Settings) {
	return func(s *decide.Settings) { s.Tariff.ElectricityPerKWh = price }
}

// The hand figures hold to 0.3 %; the cases stand half a percent off the limit.
const little = 0.005

func TestChargingMustPay(t *testing.T) {
	site := seaLevel(fanKW, 0.6)
	limit := downKW() * 0.04 / fanKW // price at which stored heat is worth its electricity
	edges(t, []edge{
		{name: "just over 1.2 times its cost it starts", change: settings(site, electricity(limit/1.2*(1-little))), air: 25, soil: 15, state: decide.Charge, code: decide.ChargePays},
		{name: "just under 1.2 times it does not", change: settings(site, electricity(limit/1.2*(1+little))), air: 25, soil: 15, state: decide.Rest, code: decide.ChargeNotWorth},
		{name: "running, just over its cost it goes on", doing: decide.Charge, change: settings(site, electricity(limit*(1-little))), air: 25, soil: 15, state: decide.Charge, code: decide.ChargePays},
		{name: "running, just under its cost it stops", doing: decide.Charge, change: settings(site, electricity(limit*(1+little))), air: 25, soil: 15, state: decide.Rest, code: decide.ChargeNotWorth},
	})
}

func TestDischargingMustPay(t *testing.T) {
	site, n := seaLevel(fanKW, 0.6), night(t)
	limit := upKW() * (0.135 - 0.04) / fanKW // fuel displaced less what the heat was worth stored
	edges(t, []edge{
		{name: "just over 1.2 times its cost it starts", change: settings(site, electricity(limit/1.2*(1-little))), now: n, air: 4, soil: 12, state: decide.Discharge, code: decide.DischargePays},
		{name: "just under 1.2 times it does not", change: settings(site, electricity(limit/1.2*(1+little))), now: n, air: 4, soil: 12, state: decide.Rest, code: decide.DischargeNotWorth},
		{name: "running, just over its cost it goes on", doing: decide.Discharge, change: settings(site, electricity(limit*(1-little))), now: n, air: 4, soil: 12, state: decide.Discharge, code: decide.DischargePays},
		{name: "running, just under its cost it stops", doing: decide.Discharge, change: settings(site, electricity(limit*(1+little))), now: n, air: 4, soil: 12, state: decide.Rest, code: decide.DischargeNotWorth},
		{name: "heat worth more in the soil stays there", change: settings(site, cheap, stored(0.2)), now: n, air: 4, soil: 12, state: decide.Rest, code: decide.DischargeNotWorth},
	})
}

func stored(worth float64) func(*decide.Settings) {
	return func(s *decide.Settings) {
		for m := range s.Tariff.StoredPerKWh {
			s.Tariff.StoredPerKWh[m] = worth
		}
	}
}

// The two sides of the comparison are said as money per hour.
func TestWorthIsSaidPerHour(t *testing.T) {
	s := farm(t, seaLevel(fanKW, 0.6), electricity(0.1))
	for _, c := range []struct {
		name       string
		doing      decide.Activity
		air, soil  unit.Celsius
		at         time.Time
		have, need float64
	}{
		{"starting to charge", decide.Rest, 25, 15, noon(t), downKW() * 0.04, fanKW * 0.1 * 1.2},
		{"charging", decide.Charge, 25, 15, noon(t), downKW() * 0.04, fanKW * 0.1},
		{"starting to discharge", decide.Rest, 4, 12, night(t), upKW() * 0.095, fanKW * 0.1 * 1.2},
		{"discharging", decide.Discharge, 4, 12, night(t), upKW() * 0.095, fanKW * 0.1},
	} {
		var st decide.State
		rested(&st)
		if c.doing != decide.Rest {
			st.Stores[0] = ran(c.doing, 3600)
		}
		d, _ := decide.Step(s, st, seen(c.air, c.soil), c.at)
		r := d.Stores[0].Reason
		if math.Abs(r.Have-c.have) > little*c.have || !near(r.Need, c.need) {
			t.Errorf("%s: %v against %v, want %v against %v", c.name, r.Have, r.Need, c.have, c.need)
		}
	}
}

// Without prices heat per electricity stands in, 3 kWh at least: here 7.1 down and 10.2 up.
func TestRatioStandsInForMissingPrices(t *testing.T) {
	ratio := func(least float64) func(*decide.Settings) {
		return func(s *decide.Settings) { s.MinRatio = least }
	}
	noElectricity := func(s *decide.Settings) { s.Tariff.HasElectricity = false }
	noFuel := func(s *decide.Settings) { s.Tariff.HasFuel = false }
	noStored := func(s *decide.Settings) { s.Tariff.HasStored = false }
	share := func(v float64) func(*decide.Settings) {
		return func(s *decide.Settings) { s.Tariff.Shares[time.January-1] = v }
	}
	site, n := seaLevel(fanKW, 0.6), night(t)
	down, up := downKW()/fanKW, upKW()/fanKW
	warm := func(e edge) edge { e.air, e.soil = 25, 15; return e }
	cold := func(e edge) edge { e.air, e.soil, e.now = 4, 12, n; return e }
	edges(t, []edge{
		warm(edge{name: "charging over 1.2 times the least starts", change: settings(site, noElectricity, ratio(down/1.2*(1-little))), state: decide.Charge, code: decide.ChargeRatio}),
		warm(edge{name: "charging under it does not", change: settings(site, noElectricity, ratio(down/1.2*(1+little))), state: decide.Rest, code: decide.ChargeLowRatio}),
		warm(edge{name: "charging goes on over the least", doing: decide.Charge, change: settings(site, noElectricity, ratio(down*(1-little))), state: decide.Charge, code: decide.ChargeRatio}),
		warm(edge{name: "charging stops under the least", doing: decide.Charge, change: settings(site, noElectricity, ratio(down*(1+little))), state: decide.Rest, code: decide.ChargeLowRatio}),
		warm(edge{name: "without a worth of stored heat too", change: settings(site, noStored, ratio(down/1.2*(1+little))), state: decide.Rest, code: decide.ChargeLowRatio}),
		warm(edge{name: "in a month of half the worth half the least will do", doing: decide.Charge, change: settings(site, noStored, share(0.5), ratio(down/2*(1-little))), state: decide.Charge, code: decide.ChargeRatio}),
		warm(edge{name: "but no more", doing: decide.Charge, change: settings(site, noStored, share(0.5), ratio(down/2*(1+little))), state: decide.Rest, code: decide.ChargeLowRatio}),
		cold(edge{name: "discharging over 1.2 times the least starts", change: settings(site, noElectricity, ratio(up/1.2*(1-little))), state: decide.Discharge, code: decide.DischargeRatio}),
		cold(edge{name: "discharging under it does not", change: settings(site, noElectricity, ratio(up/1.2*(1+little))), state: decide.Rest, code: decide.DischargeLowRatio}),
		cold(edge{name: "discharging stops under the least", doing: decide.Discharge, change: settings(site, noElectricity, ratio(up*(1+little))), state: decide.Rest, code: decide.DischargeLowRatio}),
		cold(edge{name: "without a fuel price too", change: settings(site, noFuel, ratio(up/1.2*(1+little))), state: decide.Rest, code: decide.DischargeLowRatio}),
	})
	d, _ := decide.Step(farm(t, site, noElectricity), ready(), seen(25, 15), noon(t))
	if r := d.Stores[0].Reason; math.Abs(r.Have-down) > little*down || !near(r.Need, 3.6) {
		t.Errorf("%v kWh for a kWh against %v, want %v against 3.6", r.Have, r.Need, down)
	}
}

// ready is a state in which minimum rest is long over.
func ready() (st decide.State) {
	rested(&st)
	return st
}

func TestDischargeIsNotAskedWhatItIsWorth(t *testing.T) {
	n := night(t)
	dear := electricity(100)
	cold := func(in *decide.Inputs) { in.CropLow.C = 3.5 }
	worth := func(v float64) func(*decide.Settings) {
		return func(s *decide.Settings) { s.Policies[0].CropWorth = v }
	}
	noElectricity := func(s *decide.Settings) { s.Tariff.HasElectricity = false }
	bare := settings(unheated, noCrop)
	protect, no := decide.DischargeProtect, decide.DischargeNotWorth
	edges(t, []edge{
		{name: "within 2 K of the frost limit it is not asked", change: dear, now: n, air: 3.5, soil: 12, state: decide.Discharge, code: protect, have: 3.5, need: 6},
		{name: "a little further it is", change: dear, now: n, air: 3.501, soil: 12, state: decide.Rest, code: no},
		{name: "the lowest crop air counts for that", change: dear, now: n, air: 4, soil: 12, with: cold, state: decide.Discharge, code: protect, have: 4, need: 6},
		{name: "without a crop it is asked", change: settings(dear, noCrop), now: n, air: 1, soil: 12, state: decide.Rest, code: no},
		{name: "in an unheated house with a crop it is not asked", change: settings(unheated, dear), now: n, air: 5.5, soil: 12, state: decide.Discharge, code: protect, have: 5.5, need: 6},
		{name: "unless the crop's protection has a worth", change: settings(unheated, dear, worth(0.2)), now: n, air: 5, soil: 12, state: decide.Rest, code: no},
		{name: "which may be enough", change: settings(unheated, worth(0.2)), now: n, air: 5, soil: 12, state: decide.Discharge, code: decide.DischargePays},
		{name: "without a price of electricity it is not asked either", change: settings(unheated, noElectricity, worth(0.2)), now: n, air: 5, soil: 12, state: decide.Discharge, code: protect, have: 5, need: 6},
		{name: "in an unheated house without a crop there is no use for it, whatever a crop would be worth", change: settings(bare, worth(0.2)), now: n, air: 5, soil: 12, state: decide.Rest, code: decide.NoUseForHeat},
	})
}

// The crop's protection is worth what is stated less what the heat was worth in the soil.
func TestCropWorthIsLessWhatTheHeatWasWorthStored(t *testing.T) {
	s := farm(t, seaLevel(fanKW, 0.6), unheated, func(s *decide.Settings) {
		s.Policies[0].CropWorth, s.Tariff.HasStored = 0.2, true
	})
	d, _ := decide.Step(s, ready(), seen(4, 12), night(t))
	if have, want := d.Stores[0].Reason.Have, upKW()*(0.2-0.04); math.Abs(have-want) > little*want {
		t.Errorf("worth %v an hour, want %v", have, want)
	}
}

func TestHeatDisplacesFuelOnlyWhenTheHeaterWouldRun(t *testing.T) {
	n, june := night(t), local(t, "2026-06-20T23:30:00")
	outside := func(c unit.Celsius) func(*decide.Inputs) {
		return func(in *decide.Inputs) { in.Outside = good(c) }
	}
	pays, no := decide.DischargePays, decide.HeatNotNeeded
	cases := []edge{
		{name: "air at heater setpoint and band", now: june, air: 4, soil: 12, with: outside(20), state: decide.Discharge, code: pays},
		{name: "air over it and outside as warm as the setpoint", now: n, air: 4.001, soil: 12, with: outside(3), state: decide.Rest, code: no},
		{name: "air over it and outside colder", now: june, air: 4.001, soil: 12, with: outside(2.999), state: decide.Discharge, code: pays},
		{name: "outside not known, a night of the cold months", now: n, air: 5, soil: 12, state: decide.Discharge, code: pays},
		{name: "outside not known, a day of the cold months", now: noon(t), air: 5, soil: 12, state: decide.Rest, code: no},
		{name: "outside not known, a summer night", now: june, air: 5, soil: 12, state: decide.Rest, code: no},
	}
	edges(t, cases)
	for _, c := range cases {
		if d, _ := c.decide(t); d.HeaterWouldRun != (c.code == pays) {
			t.Errorf("%s: heater would run is %v", c.name, d.HeaterWouldRun)
		}
	}
	for _, c := range []edge{
		{name: "no heater", now: n, air: 2, soil: 12, change: unheated},
		{name: "no air", now: n, air: 2, soil: 12, with: noAir},
	} {
		if d, _ := c.decide(t); d.HeaterWouldRun {
			t.Errorf("%s: the heater would run", c.name)
		}
	}
}

// evening makes electricity dear from 16:00 to 21:00.
func evening(t testing.TB, price float64) func(*decide.Settings) {
	return func(s *decide.Settings) {
		s.Tariff.Periods = []tariff.Period{{Name: "evening", Span: spans(t, "", "16:00..21:00")[0], ElectricityPerKWh: price}}
	}
}

func TestEveningPrice(t *testing.T) {
	s := farm(t, one, evening(t, 2))
	for _, c := range []struct {
		name  string
		air   unit.Celsius
		at    string
		state decide.Activity
		code  decide.Code
		price float64
	}{
		{"4 °C at the base price pays", 4, "2026-01-20T22:00:00", decide.Discharge, decide.DischargePays, 0.17},
		{"4 °C in the dear evening does not", 4, "2026-01-20T20:00:00", decide.Rest, decide.DischargeNotWorth, 2},
		{"4 °C a moment before the evening pays", 4, "2026-01-20T15:59:49", decide.Discharge, decide.DischargePays, 0.17},
		{"3 °C is within 2 K of the frost limit and runs in the dear evening", 3, "2026-01-20T20:00:00", decide.Discharge, decide.DischargeProtect, 2},
		{"3 °C runs at the base price", 3, "2026-01-20T22:00:00", decide.Discharge, decide.DischargeProtect, 0.17},
	} {
		y := begin(t, s, local(t, c.at))
		y.pass(0, seen(c.air, 12))
		y.want(c.name, c.state, c.code)
		if y.d.Prices.ElectricityPerKWh != c.price {
			t.Errorf("%s: decided on %v", c.name, y.d.Prices.ElectricityPerKWh)
		}
	}
}

// A night at 4 °C through the end of the dear evening: the same fan, the same heat.
func TestTheEveningsEndIsNoticed(t *testing.T) {
	y := begin(t, farm(t, one, evening(t, 2)), local(t, "2026-01-20T20:30:00"))
	y.pass(30*time.Minute-10*time.Second, seen(4, 12))
	y.want("a moment before nine", decide.Rest, decide.DischargeNotWorth)
	y.pass(0, seen(4, 12))
	y.want("at nine", decide.Discharge, decide.DischargePays)
}
