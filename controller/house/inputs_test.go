package house_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

func temperature(c unit.Celsius, q judge.Quality) decide.Temperature {
	return decide.Temperature{C: c, Quality: q}
}

func good(c unit.Celsius) decide.Temperature { return temperature(c, judge.Good) }

// TestReadingsBecomeInputs changes one thing on a calm day and looks at what Step is told.
func TestReadingsBecomeInputs(t *testing.T) {
	nan := math.NaN()
	beds := func(in decide.Inputs) decide.StoreInputs { return in.Stores[0] }
	path := func(in decide.Inputs) decide.StoreInputs { return in.Stores[1] }
	tests := []struct {
		name string
		r    readings
		see  func(decide.Inputs) any
		want any
	}{
		{"crop air is the median of its probes", calm(), func(in decide.Inputs) any { return in.CropAir }, good(11.2)},
		{"frost goes by the lowest of them", calm(), func(in decide.Inputs) any { return in.CropLow }, good(11)},
		{"also by one that the others contradict", calm().but("crop b", 1), func(in decide.Inputs) any { return in.CropLow }, good(1)},
		{"which the setpoint does not", calm().but("crop b", 1), func(in decide.Inputs) any { return in.CropAir }, good(11.2)},
		{
			"two that differ are both doubted, at their mean", calm().without("crop b").but("crop a", 5),
			func(in decide.Inputs) any { return in.CropAir }, temperature(8.2, judge.Doubtful),
		},
		{"air at the intake is its own", calm(), func(in decide.Inputs) any { return in.IntakeAir }, good(12)},
		{"without it crop air stands in, good", calm().without("intake"), func(in decide.Inputs) any { return in.IntakeAir }, good(11.2)},
		{
			"intake air stands in for the crop, doubtful", calm().without("crop a", "crop b", "crop c"),
			func(in decide.Inputs) any { return in.CropAir }, temperature(12, judge.Doubtful),
		},
		{
			"also for its lowest", calm().without("crop a", "crop b", "crop c"),
			func(in decide.Inputs) any { return in.CropLow }, temperature(12, judge.Doubtful),
		},
		{
			"and is itself as good as before", calm().without("crop a", "crop b", "crop c"),
			func(in decide.Inputs) any { return in.IntakeAir }, good(12),
		},
		{
			"no air at all is not known", calm().without("crop a", "crop b", "crop c", "intake"),
			func(in decide.Inputs) any {
				return in.CropAir.Quality.Usable() || in.CropLow.Quality.Usable() || in.IntakeAir.Quality.Usable()
			}, false,
		},
		{"an absurd reading is no reading", calm().but("intake", nan), func(in decide.Inputs) any { return in.IntakeAir }, good(11.2)},
		{"humidity", calm(), func(in decide.Inputs) any { return in.Humidity }, decide.Fraction{V: 0.7, Quality: judge.Good}},
		{
			"humidity at the end of its scale is doubtful", calm().but("humidity", 1),
			func(in decide.Inputs) any { return in.Humidity },
			decide.Fraction{V: 1, Quality: judge.Doubtful},
		},
		{"outside", calm(), func(in decide.Inputs) any { return in.Outside }, good(4)},

		{
			"soil between the pipes of the first store", calm(), func(in decide.Inputs) any { return beds(in).Soil },
			judge.Carried{C: 13, Quality: judge.Good, Known: true},
		},
		{
			"and of the second", calm(), func(in decide.Inputs) any { return path(in).Soil },
			judge.Carried{C: 14, Quality: judge.Good, Known: true},
		},
		{"soil that was never read", calm().without("path between"), func(in decide.Inputs) any { return path(in).Soil }, judge.Carried{}},
		{"the coldest root soil", calm(), func(in decide.Inputs) any { return beds(in).RootMin }, good(11)},
		{"the hottest root soil", calm(), func(in decide.Inputs) any { return beds(in).RootMax }, good(12)},
		{"no root soil in the other store", calm(), func(in decide.Inputs) any { return path(in).RootMax.Quality }, judge.Bad},

		{"no smoke", calm(), func(in decide.Inputs) any { return in.Smoke }, decide.Off},
		{"one smoke contact of two is enough", calm().but("smoke b", 1), func(in decide.Inputs) any { return in.Smoke }, decide.On},
		{"also while the other is lost", calm().but("smoke b", 1).without("smoke a"), func(in decide.Inputs) any { return in.Smoke }, decide.On},
		{"a lost smoke contact is lost, whatever the other says", calm().without("smoke b"), func(in decide.Inputs) any { return in.Smoke }, decide.Lost},
		{"whichever of them is lost", calm().without("smoke a"), func(in decide.Inputs) any { return in.Smoke }, decide.Lost},
		{"half a contact is no answer", calm().but("vent", 0.5), func(in decide.Inputs) any { return in.VentOpen }, decide.Lost},
		{"an open vent", calm().but("vent", 1), func(in decide.Inputs) any { return in.VentOpen }, decide.On},
		{"a heater that runs", calm().but("heater", 1), func(in decide.Inputs) any { return in.HeaterOn }, decide.On},
		{"the generator", calm().but("generator", 1), func(in decide.Inputs) any { return in.OnGenerator }, decide.On},

		{
			"the house's switch takes every store", calm().but("switch", 1),
			func(in decide.Inputs) any { return [2]decide.Contact{beds(in).HandSwitch, path(in).HandSwitch} },
			[2]decide.Contact{decide.On, decide.On},
		},
		{
			"a store's switch takes that store", calm().but("beds switch", 1),
			func(in decide.Inputs) any { return [2]decide.Contact{beds(in).HandSwitch, path(in).HandSwitch} },
			[2]decide.Contact{decide.On, decide.Off},
		},
		{
			"a lost house switch counts over a store's that is off", calm().without("switch"),
			func(in decide.Inputs) any { return beds(in).HandSwitch }, decide.Lost,
		},
		{
			"water of the house is in every store", calm().but("water", 1),
			func(in decide.Inputs) any { return [2]decide.Contact{beds(in).PipeWater, path(in).PipeWater} },
			[2]decide.Contact{decide.On, decide.On},
		},
		{
			"water of a store is in that store", calm().but("path water", 1),
			func(in decide.Inputs) any { return [2]decide.Contact{beds(in).PipeWater, path(in).PipeWater} },
			[2]decide.Contact{decide.Off, decide.On},
		},

		{
			"a proof of its own for each fan", calm().but("beds west moves", 1),
			func(in decide.Inputs) any { return [2]decide.Proof{beds(in).Fans[0].Proof, beds(in).Fans[1].Proof} },
			[2]decide.Proof{decide.SeenStill, decide.SeenRunning},
		},
		{
			"a lost proof tells nothing", calm().without("beds west moves"),
			func(in decide.Inputs) any { return [2]decide.Proof{beds(in).Fans[0].Proof, beds(in).Fans[1].Proof} },
			[2]decide.Proof{decide.SeenStill, decide.NoProof},
		},
		{
			"a proof for all fans of a store", calm().but("path moves", 1),
			func(in decide.Inputs) any { return path(in).Fans[0].Proof }, decide.SeenRunning,
		},
		{
			"which is not one of another store", calm().but("path moves", 1),
			func(in decide.Inputs) any { return beds(in).Fans[0].Proof }, decide.SeenStill,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := farm(t)
			got := house.New(s, house.State{}).Tick(house.Seen{Believed: true, Raw: tt.r.raw(s)}, noon(t))
			if diff := cmp.Diff(tt.want, tt.see(got.Inputs), cmpopts.EquateApprox(0, 1e-12)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestWhatElseIsSeenIsPassedOn(t *testing.T) {
	s := farm(t)
	seen := house.Seen{
		StepS: 10, Believed: true, Grant: decide.Grant{Limited: true, PowerW: 700}, ClearFault: true,
		Orders: [decide.MaxStores]decide.Order{1: {Kind: decide.OrderRun, ForS: 60}},
	}
	in := house.New(s, house.State{}).Tick(seen, noon(t)).Inputs
	if in.StepS != 10 || !in.Believed || in.Grant != seen.Grant || !in.ClearFault {
		t.Errorf("got %+v, want what was seen: %+v", in, seen)
	}
	if in.Stores[1].Order != seen.Orders[1] || in.Stores[0].Order != (decide.Order{}) {
		t.Errorf("orders are %+v and %+v", in.Stores[0].Order, in.Stores[1].Order)
	}
	if in.CropAir.Quality.Usable() || in.Stores[0].Soil.Known {
		t.Error("readings left out at the end were taken for readings")
	}
}

// TestOddProbeIsNamed has one crop probe in three far from the others.
func TestOddProbeIsNamed(t *testing.T) {
	s := farm(t)
	h := house.New(s, house.State{})
	r := h.Tick(house.Seen{Believed: true, Raw: calm().but("crop b", 18).raw(s)}, noon(t))
	if v := verdict(t, s, r, "crop b"); v.Quality != judge.Doubtful || v.Cause != judge.Odd || v.Value != 18 {
		t.Errorf("the odd one is %+v, want it doubtful and odd at 18", v)
	}
	for _, name := range []string{"crop a", "crop c", "intake"} {
		if v := verdict(t, s, r, name); v.Quality != judge.Good || v.Cause != judge.Fine {
			t.Errorf("%s is %+v, want good", name, v)
		}
	}
	r = h.Tick(house.Seen{StepS: 3600, Believed: true, Raw: calm().raw(s)}, noon(t))
	if v := verdict(t, s, r, "crop b"); v.Cause == judge.Odd {
		t.Errorf("back among the others it is still %+v", v)
	}
}

// TestLostSoilIsCarried loses the soil of both stores while the fans charge: the beds' soil, whose
// capacity is stated, is moved by what the last decision expected, the path's stays.
func TestLostSoilIsCarried(t *testing.T) {
	const stepS = 10
	s := farm(t, func(s *house.Settings) {
		for i := range s.Probes {
			if s.Probes[i].Judge.Role == judge.Soil {
				s.Probes[i].Judge.StaleS = 0.5 * stepS
			}
		}
	})
	h := house.New(s, house.State{})
	hot := calm().but("crop a", 25).but("crop b", 25).but("crop c", 25).but("intake", 26)
	now := noon(t)
	tick := func(r readings) house.Result {
		now = now.Add(stepS * 1e9)
		moves := h.State().Last.Stores
		for i, names := range [][]string{{"beds east moves", "beds west moves"}, {"path moves"}} {
			for j, name := range names {
				r[name] = float64(min(moves[i].Stages[j], 1))
			}
		}
		return h.Tick(house.Seen{StepS: stepS, Believed: true, Raw: r.raw(s)}, now)
	}
	for range 100 {
		tick(hot)
	}
	last := h.State().Last
	if last.Stores[0].State != decide.Charge || last.Stores[0].HeatW < 1000 || last.Stores[1].HeatW < 1000 {
		t.Fatalf("the stores do not charge: %+v", last.Stores[:2])
	}
	hot.without("beds between", "path between", "beds root a", "beds root b", "undisturbed")
	want := unit.Celsius(13)
	for k := range 360 {
		want = want.Add(unit.Kelvin(last.Stores[0].HeatW * stepS / bedsJK))
		r := tick(hot)
		last = r.Decision
		beds, path := r.Inputs.Stores[0].Soil, r.Inputs.Stores[1].Soil
		if math.Abs(float64(beds.C-want)) > 1e-9 || beds.Quality != judge.Doubtful || beds.LostS != float64(stepS*(k+1)) {
			t.Fatalf("after %d s the beds' soil is %+v, want %v °C, doubtful", stepS*(k+1), beds, want)
		}
		if path.C != 14 || !path.Known {
			t.Fatalf("after %d s the path's soil is %+v, want it where it was", stepS*(k+1), path)
		}
	}
	if want < 13.1 {
		t.Errorf("an hour of charging moved the soil to %v only: too little to prove anything", want)
	}
	back := tick(hot.but("beds between", 14.5)).Inputs.Stores[0].Soil
	if back.LostS != 0 || back.Uncertain != 0 || back.C != 14.5 {
		t.Errorf("read again it is %+v, want 14.5 °C as read", back)
	}
}
