package ledger_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/tariff"
)

// two is an invented house of two stores: one on/off fan and one of two speeds, then one fan.
func two() *decide.Settings {
	return &decide.Settings{Stores: []decide.Store{
		{Name: "beds", Fans: []decide.Fan{
			{Name: "east", PowerW: 600, Levels: []float64{1}},
			{Name: "west", PowerW: 400, Levels: []float64{0.5, 1}},
		}},
		{Name: "path", Fans: []decide.Fan{{Name: "middle", PowerW: 300, Levels: []float64{1}}}},
	}}
}

// near says how far two sums of the same numbers may differ by rounding.
var near = cmpopts.EquateApprox(0, 1e-9)

const hour = 3600.0

// unseen is that no probe measured anything.
var unseen = &decide.Inputs{}

// does is a decision in which one store does something and the other rests.
func does(store int, state decide.Activity, stages ...uint8) *decide.Decision {
	d := &decide.Decision{Prices: tariff.Prices{
		ElectricityPerKWh: 0.20, HasElectricity: true, FuelHeatPerKWh: 0.12, HasFuel: true,
	}}
	sd := &d.Stores[store]
	sd.State = state
	copy(sd.Stages[:], stages)
	return d
}

func TestOneHourIsBooked(t *testing.T) {
	charge := func(change func(*decide.StoreDecision)) *decide.Decision {
		d := does(0, decide.Charge, 1, 0)
		change(&d.Stores[0])
		return d
	}
	up := func(heater bool) *decide.Decision {
		d := does(0, decide.Discharge, 0, 2)
		d.Stores[0].HeatW, d.HeaterWouldRun = -4000, heater
		return d
	}
	// Figures are by hand: kWh = kW × 1 h, by the cube of the speed (fan laws, AMCA 201).
	tests := []struct {
		name string
		d    *decide.Decision
		want func(h *ledger.House)
	}{
		{"rest costs nothing and is time at rest", does(0, decide.Rest), func(*ledger.House) {}},
		{"a hold is time of its own", does(0, decide.Hold), func(h *ledger.House) {
			h.Stores[0].StateS = [decide.Activities]float64{decide.Hold: hour}
			h.StateS = [decide.Activities]float64{decide.Hold: hour, decide.Rest: hour}
		}},
		{"charging with one fan", charge(func(d *decide.StoreDecision) {
			d.HeatW, d.LatentW, d.CondensateKgS = 5000, 1500, 0.0005
		}), func(h *ledger.House) {
			s := &h.Stores[0]
			s.Fans[0].RunS[decide.Charge], s.Fans[0].EnergyKWh = hour, 0.6
			s.In = ledger.Heat{SensibleKWh: 3.5, LatentKWh: 1.5}
			s.CondensateLitres = 1.8 / 0.998
			h.ElectricityMoney = 0.12
		}},
		{"both fans, one at half speed: an eighth of its power", charge(func(d *decide.StoreDecision) {
			d.Stages[1] = 1
		}), func(h *ledger.House) {
			s := &h.Stores[0]
			s.Fans[0].RunS[decide.Charge], s.Fans[0].EnergyKWh = hour, 0.6
			s.Fans[1].RunS[decide.Charge], s.Fans[1].EnergyKWh = hour, 0.05 // 50 W, greenhouse-S058
			h.ElectricityMoney = 0.13
		}},
		{"heat brought up while the heater would run displaces fuel", up(true), func(h *ledger.House) {
			s := &h.Stores[0]
			s.Fans[1].RunS[decide.Discharge], s.Fans[1].EnergyKWh = hour, 0.4
			s.Out.SensibleKWh = 4
			h.ElectricityMoney, h.FuelMoney = 0.08, 0.48
		}},
		{"heat brought up while it would not displaces none", up(false), func(h *ledger.House) {
			s := &h.Stores[0]
			s.Fans[1].RunS[decide.Discharge], s.Fans[1].EnergyKWh = hour, 0.4
			s.Out.SensibleKWh = 4
			h.ElectricityMoney = 0.08
		}},
		{"fans off move no heat, whatever is expected", charge(func(d *decide.StoreDecision) {
			d.Stages, d.HeatW, d.LatentW, d.CondensateKgS = [decide.MaxFans]uint8{}, 5000, 1500, 1
		}), func(*ledger.House) {}},
		{"the second store has an account of its own", does(1, decide.Frost, 1), func(h *ledger.House) {
			s := &h.Stores[1]
			s.Fans[0].RunS[decide.Frost], s.Fans[0].EnergyKWh = hour, 0.3
			h.ElectricityMoney = 0.06
		}},
		{"without a price electricity costs nothing that is known", func() *decide.Decision {
			d := does(1, decide.Frost, 1)
			d.Prices = tariff.Prices{}
			return d
		}(), func(h *ledger.House) {
			s := &h.Stores[1]
			s.Fans[0].RunS[decide.Frost], s.Fans[0].EnergyKWh = hour, 0.3
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			want := ledger.New("lower", two())
			for i := range want.Stores {
				state := tt.d.Stores[i].State
				want.Stores[i].StateS[state] += hour
				want.StateS[state] += hour
			}
			tt.want(want)
			got := ledger.New("lower", two())
			got.Add(two(), unseen, tt.d, hour)
			if diff := cmp.Diff(want, got, near); diff != "" {
				t.Errorf("account (-want +got):\n%s", diff)
			}
		})
	}
}

// TestPriceChangesWithTheDecision runs 600 W through the hour from 15:30, which gets dearer at
// 16:00: each half costs its own price, as the decision in force says.
func TestPriceChangesWithTheDecision(t *testing.T) {
	h := ledger.New("lower", two())
	for _, price := range []float64{0.17, 0.29} {
		d := does(0, decide.Charge, 1, 0)
		d.Prices.ElectricityPerKWh = price
		h.Add(two(), unseen, d, hour/2)
	}
	if want := 0.3*0.17 + 0.3*0.29; math.Abs(h.ElectricityMoney-want) > 1e-12 {
		t.Errorf("got %v, want %v", h.ElectricityMoney, want)
	}
	if run := h.Stores[0].Fans[0].RunTotalS(); run != hour {
		t.Errorf("ran %v s, want %v", run, hour)
	}
}

func TestStartsAreCounted(t *testing.T) {
	rest, one := does(0, decide.Rest), does(0, decide.Charge, 1, 0)
	both, faster := does(0, decide.Charge, 1, 1), does(0, decide.Charge, 1, 2)
	h := ledger.New("lower", two())
	for _, change := range [][2]*decide.Decision{
		{rest, one}, {one, both}, {both, faster}, {faster, one}, {one, rest}, {rest, both}, {both, both},
	} {
		h.Starts(two(), change[0], change[1])
	}
	if east, west := h.Stores[0].Fans[0].Starts, h.Stores[0].Fans[1].Starts; east != 2 || west != 2 {
		t.Errorf("east started %d, west %d times; want 2 and 2: another speed or a stop is no start", east, west)
	}
	if middle := h.Stores[1].Fans[0].Starts; middle != 0 {
		t.Errorf("the other store's fan started %d times, want 0", middle)
	}
}

func TestRunTotalCountsEveryActivity(t *testing.T) {
	var f ledger.Fan
	for i := range f.RunS {
		f.RunS[i] = 1
	}
	if got := f.RunTotalS(); got != float64(decide.Activities) {
		t.Errorf("got %v s, want %d", got, decide.Activities)
	}
	if got := (ledger.Heat{SensibleKWh: 2, LatentKWh: 3}).KWh(); got != 5 {
		t.Errorf("got %v kWh, want 5", got)
	}
}

func TestCloneSharesNothing(t *testing.T) {
	hourOn := func() *ledger.House {
		h := ledger.New("lower", two())
		h.Add(two(), unseen, does(0, decide.Charge, 1, 1), hour)
		return h
	}
	h := hourOn()
	copied := h.Clone()
	d := does(0, decide.Charge, 1, 1)
	d.Stores[0].HeatW, d.Stores[0].LatentW, d.Stores[0].CondensateKgS = 1000, 100, 1
	h.Add(two(), unseen, d, hour)
	h.Starts(two(), does(0, decide.Rest), d)
	h.Name, h.Stores[0].Name, h.Stores[0].Fans[0].Name = "upper", "other", "other"
	if diff := cmp.Diff(hourOn(), copied); diff != "" {
		t.Errorf("the clone moved with its original (-want +got):\n%s", diff)
	}
}

// counters lists every number of an account.
func counters(h *ledger.House) []float64 {
	all := append([]float64{h.ElectricityMoney, h.FuelMoney}, h.StateS[:]...)
	for i := range h.Stores {
		s := &h.Stores[i]
		all = append(all, s.In.SensibleKWh, s.In.LatentKWh, s.Out.SensibleKWh, s.Out.LatentKWh, s.CondensateLitres)
		all = append(all, s.MeasuredIn.SensibleKWh, s.MeasuredIn.LatentKWh, s.MeasuredOut.SensibleKWh, s.MeasuredOut.LatentKWh)
		all = append(all, s.StateS[:]...)
		for j := range s.Fans {
			all = append(append(all, s.Fans[j].EnergyKWh, float64(s.Fans[j].Starts)), s.Fans[j].RunS[:]...)
		}
	}
	return all
}

// measuring is a house whose ducts, humidity and meters read anything or nothing.
func measuring(t *rapid.T) *decide.Inputs {
	in := &decide.Inputs{}
	absurd := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), -273.15, 1e300})
	anything := rapid.OneOf(rapid.Float64Range(-60, 90), rapid.Float64Range(15, 15.001), absurd)
	temperature := func(name string) decide.Temperature {
		q := rapid.SampledFrom([]judge.Quality{judge.Bad, judge.Doubtful, judge.Good, judge.Good}).Draw(t, name+" quality")
		return decide.Temperature{C: unit.Celsius(anything.Draw(t, name)), Quality: q}
	}
	in.IntakeAir = temperature("intake")
	in.Humidity = decide.Fraction{V: rapid.Float64Range(0, 1).Draw(t, "humidity"), Quality: judge.Good}
	for i := range 2 {
		store := &in.Stores[i]
		store.DuctIn, store.DuctOut = temperature("duct in"), temperature("duct out")
		for j := range 2 {
			store.Fans[j] = decide.Feedback{
				Proof:      decide.Proof(rapid.IntRange(0, 2).Draw(t, "proof")),
				PowerKnown: rapid.Bool().Draw(t, "metered"),
				PowerW:     rapid.OneOf(rapid.Float64Range(-10, 1000), absurd).Draw(t, "power"),
			}
		}
	}
	return in
}

// TestCountersNeverFall also takes steps that are no time: zero, negative, infinite, undefined.
func TestCountersNeverFall(t *testing.T) {
	s := ducted()
	absurd := rapid.SampledFrom([]float64{0, -10, math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -math.MaxFloat64})
	steps := rapid.OneOf(absurd, rapid.Float64Range(0, 1e6))
	rapid.Check(t, func(t *rapid.T) {
		h := ledger.New("lower", s)
		before := &decide.Decision{}
		for range rapid.IntRange(1, 20).Draw(t, "ticks") {
			was := counters(h)
			d := &decide.Decision{HeaterWouldRun: rapid.Bool().Draw(t, "heater")}
			d.Prices.ElectricityPerKWh = rapid.Float64Range(0, 2).Draw(t, "electricity")
			d.Prices.FuelHeatPerKWh = rapid.Float64Range(0, 2).Draw(t, "fuel")
			for i := range s.Stores {
				sd := &d.Stores[i]
				sd.State = decide.Activity(rapid.IntRange(0, decide.Activities-1).Draw(t, "state"))
				for j := range s.Stores[i].Fans {
					sd.Stages[j] = uint8(rapid.IntRange(0, len(s.Stores[i].Fans[j].Levels)).Draw(t, "stage"))
				}
				sd.HeatW = rapid.Float64Range(-1e5, 1e5).Draw(t, "heat")
				if sd.HeatW > 0 {
					sd.LatentW = sd.HeatW * rapid.Float64Range(0, 1).Draw(t, "latent share")
					sd.CondensateKgS = sd.LatentW / 2.5e6
				}
			}
			step := steps.Draw(t, "step")
			h.Add(s, measuring(t), d, step)
			h.Starts(s, before, d)
			before = d
			for i := range h.Stores {
				if a := &h.Stores[i]; a.MeasuredIn.KWh() > a.In.KWh()*(1+1e-9) || a.MeasuredOut.KWh() > a.Out.KWh()*(1+1e-9) {
					t.Fatalf("more is measured than there is: %+v", a)
				}
			}
			for k, v := range counters(h) {
				if !(v >= was[k]) || math.IsInf(v, 0) {
					t.Fatalf("counter %d went from %v to %v in a step of %v s", k, was[k], v, step)
				}
			}
		}
	})
}

// TestAbsurdHeatIsNotBooked books what no store moves, as a broken duct probe may say.
func TestAbsurdHeatIsNotBooked(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct{ total, latent, water float64 }{
		{1e300, 0, 0}, {-1e300, 0, 0}, {nan, 0, 0}, {-inf, 0, 0}, {5000, nan, 0}, {5000, inf, 0}, {5000, 100, inf}, {5000, 100, nan},
	} {
		h := ledger.New("lower", two())
		d := does(0, decide.Charge, 1, 0)
		d.Stores[0].HeatW, d.Stores[0].LatentW, d.Stores[0].CondensateKgS = c.total, c.latent, c.water
		h.Add(two(), unseen, d, 1e6)
		if s := &h.Stores[0]; s.In != (ledger.Heat{}) || s.Out != (ledger.Heat{}) || s.CondensateLitres != 0 {
			t.Errorf("%+v: booked are %+v, %+v and %v", c, s.In, s.Out, s.CondensateLitres)
		}
		if h.Stores[0].Fans[0].RunS[decide.Charge] != 1e6 {
			t.Errorf("%+v: the fan's time is not booked", c)
		}
	}
}

// TestRoundingLetsNoCounterFall books heat of which rounding has made the latent part less than
// nothing, or more than the whole.
func TestRoundingLetsNoCounterFall(t *testing.T) {
	h := ledger.New("lower", two())
	for _, c := range []struct{ total, latent, water float64 }{{5000, 1000, 1e-4}, {5000, -1e-12, -1e-20}, {5000, 5000.0000001, 1e-4}, {1e-9, -1e-9, 0}} {
		was := h.Clone()
		d := does(0, decide.Charge, 1, 0)
		d.Stores[0].HeatW, d.Stores[0].LatentW, d.Stores[0].CondensateKgS = c.total, c.latent, c.water
		h.Add(two(), unseen, d, 10)
		is, before := &h.Stores[0], &was.Stores[0]
		if is.In.LatentKWh < before.In.LatentKWh || is.In.SensibleKWh < before.In.SensibleKWh || is.CondensateLitres < before.CondensateLitres {
			t.Errorf("%+v: %+v after %+v", c, is.In, before.In)
		}
		if more := is.In.KWh() - before.In.KWh(); math.Abs(more-c.total*10/3.6e6) > 1e-12 {
			t.Errorf("%+v: %v kWh were booked", c, more)
		}
	}
}
