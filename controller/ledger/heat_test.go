package ledger_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/physics"
)

// ducted is two with flows of 1 and 0.5 m³/s in the beds, measured, at sea level.
func ducted() *decide.Settings {
	s := two()
	s.PressurePa = 101325
	s.Stores[0].Fans[0].FlowM3s, s.Stores[0].Fans[1].FlowM3s = 1, 0.5
	return s
}

func read(c unit.Celsius) decide.Temperature { return decide.Temperature{C: c, Quality: judge.Good} }

// ducts is what the beds' ducts read, in dry air.
func ducts(in, out unit.Celsius, change ...func(*decide.Inputs)) *decide.Inputs {
	seen := &decide.Inputs{}
	seen.Stores[0].DuctIn, seen.Stores[0].DuctOut = read(in), read(out)
	for _, c := range change {
		c(seen)
	}
	return seen
}

// rounded allows what a heat capacity of 1.006 kJ/(kg K) and a density of 1.204 kg/m³ at 20 °C are
// rounded by (ASHRAE Fundamentals 2017, ch. 1).
var rounded = cmpopts.EquateApprox(0.002, 1e-9)

func TestHeatIsThatOfTheDucts(t *testing.T) {
	humid := func(air unit.Celsius, rh float64) func(*decide.Inputs) {
		return func(in *decide.Inputs) {
			in.IntakeAir, in.Humidity = read(air), decide.Fraction{V: rh, Quality: judge.Good}
		}
	}
	// Dry air of 1 m³/s at 20 °C brings 1.204 kg/s × 1.006 kJ/(kg K) = 1.2112 kW/K.
	const kWperK = 1.2112
	estimate := ledger.Store{In: ledger.Heat{SensibleKWh: 3.5, LatentKWh: 1.5}, CondensateLitres: 1.8 / 0.998}
	measured := func(in, out float64) ledger.Store {
		s := ledger.Store{In: ledger.Heat{SensibleKWh: in}, Out: ledger.Heat{SensibleKWh: out}}
		s.MeasuredIn, s.MeasuredOut = s.In, s.Out
		return s
	}
	tests := []struct {
		name   string
		in     *decide.Inputs
		change func(*decide.Settings)
		stages [2]uint8
		want   ledger.Store // its heat
	}{
		{"without ducts it is what was expected", &decide.Inputs{}, nil, [2]uint8{1, 0}, estimate},
		{"one end alone tells nothing", ducts(20, 15, func(in *decide.Inputs) { in.Stores[0].DuctIn = decide.Temperature{} }), nil, [2]uint8{1, 0}, estimate},
		{"nor the other", ducts(20, 15, func(in *decide.Inputs) { in.Stores[0].DuctOut.Quality = judge.Bad }), nil, [2]uint8{1, 0}, estimate},
		{"ducts of the other store", func() *decide.Inputs {
			in := ducts(20, 15)
			in.Stores[0], in.Stores[1] = in.Stores[1], in.Stores[0]
			return in
		}(), nil, [2]uint8{1, 0}, estimate},
		{"air that cools by 5 K leaves heat", ducts(20, 15), nil, [2]uint8{1, 0}, measured(5*kWperK, 0)},
		{"air that warms by 5 K takes heat, whatever was expected", ducts(20, 25), nil, [2]uint8{1, 0}, measured(0, 5*kWperK)},
		{"at half speed half the air", ducts(20, 15), nil, [2]uint8{0, 1}, measured(5*kWperK/4, 0)},
		{"two fans", ducts(20, 15), nil, [2]uint8{1, 2}, measured(7.5*kWperK, 0)},
		{"one of which is seen to stand", ducts(20, 15, func(in *decide.Inputs) {
			in.Stores[0].Fans[1].Proof = decide.SeenStill
		}), nil, [2]uint8{1, 2}, measured(5*kWperK, 0)},
		{"of a catalogue flow half, and it is no measurement", ducts(20, 15), func(s *decide.Settings) {
			s.Stores[0].Fans[0].Catalogue = true
		}, [2]uint8{1, 0}, ledger.Store{In: ledger.Heat{SensibleKWh: 2.5 * kWperK}}},
		{"a catalogue fan at rest spoils nothing", ducts(20, 15), func(s *decide.Settings) {
			s.Stores[0].Fans[1].Catalogue = true
		}, [2]uint8{1, 0}, measured(5*kWperK, 0)},
		{"air too dry to condense", ducts(20, 15, humid(20, 0.05)), nil, [2]uint8{1, 0}, measured(5*kWperK, 0)},
		{"ducts that cannot be reckoned with", ducts(20, unit.Celsius(math.NaN())), nil, [2]uint8{1, 0}, estimate},
		{"of what was expected the share of the fan that turns", func() *decide.Inputs {
			in := &decide.Inputs{}
			in.Stores[0].Fans[1].Proof = decide.SeenStill
			return in
		}(), nil, [2]uint8{1, 2}, ledger.Store{
			In: ledger.Heat{SensibleKWh: 3.5 / 1.5, LatentKWh: 1}, CondensateLitres: 1.2 / 0.998,
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := ducted()
			if tt.change != nil {
				tt.change(s)
			}
			d := does(0, decide.Charge, tt.stages[0], tt.stages[1])
			d.Stores[0].HeatW, d.Stores[0].LatentW, d.Stores[0].CondensateKgS = 5000, 1500, 0.0005
			h := ledger.New("lower", s)
			h.Add(s, tt.in, d, hour)
			got := h.Stores[0]
			heat := ledger.Store{
				In: got.In, Out: got.Out, MeasuredIn: got.MeasuredIn, MeasuredOut: got.MeasuredOut, CondensateLitres: got.CondensateLitres,
			}
			tolerance := cmp.Options{rounded}
			if tt.name == "air too dry to condense" { // 0.7 g/kg of vapour take a tenth of a percent more
				tolerance = cmp.Options{cmpopts.EquateApprox(0.004, 1e-9)}
			}
			if diff := cmp.Diff(tt.want, heat, tolerance); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// TestDampAirLeavesItsWater cools air of 20 °C and 90 % to 12 °C: it comes out saturated. Humidity
// ratios by hand from the saturation pressures of ASHRAE Fundamentals 2017, ch. 1, table 3: 2338.9
// and 1402.8 Pa. Without humidity it is the sensible heat alone.
func TestDampAirLeavesItsWater(t *testing.T) {
	ratio := func(pw float64) float64 { return 0.621945 * pw / (101325 - pw) }
	in, out := ratio(0.9*2338.9), ratio(1402.8)
	dry := 1 / (0.287042 * 293.15 * (1 + 1.607858*in) / 101.325) // kg/s, eq. 26
	s := ducted()
	d := does(0, decide.Charge, 1, 0)
	seen := ducts(20, 12, func(in *decide.Inputs) {
		in.IntakeAir, in.Humidity = read(20), decide.Fraction{V: 0.9, Quality: judge.Good}
	})
	h := ledger.New("lower", s)
	h.Add(s, seen, d, hour)
	got := h.Stores[0]
	near := func(what string, got, want, share float64) {
		t.Helper()
		if math.Abs(got-want) > share*want {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	near("water, l", got.CondensateLitres, dry*(in-out)*3600/0.998, 0.005)
	near("latent heat, kWh", got.In.LatentKWh, dry*(in-out)*2480, 0.01) // kJ/kg about 10 °C, from memory
	near("sensible heat, kWh", got.In.SensibleKWh, dry*8*(1.006+1.86*out), 0.005)
	if got.MeasuredIn != got.In {
		t.Errorf("%+v of %+v is measured", got.MeasuredIn, got.In)
	}
	for what, lose := range map[string]func(*decide.Inputs){
		"humidity that is doubted": func(in *decide.Inputs) { in.Humidity.Quality = judge.Doubtful },
		"air that is not read":     func(in *decide.Inputs) { in.IntakeAir = decide.Temperature{} },
	} {
		lost := *seen
		lose(&lost)
		h := ledger.New("lower", s)
		h.Add(s, &lost, d, hour)
		if got := h.Stores[0]; got.In.LatentKWh != 0 || got.CondensateLitres != 0 || !(got.In.SensibleKWh > 9) {
			t.Errorf("with %s it is %+v", what, got)
		}
	}
}

// TestWarmHouseAirIsNoVapourBeyondSaturation reads humidity in air that is warmer than the duct:
// what cannot be in the duct's air cannot condense on its way.
func TestWarmHouseAirIsNoVapourBeyondSaturation(t *testing.T) {
	s := ducted()
	seen := ducts(12, 14, func(in *decide.Inputs) {
		in.IntakeAir, in.Humidity = read(25), decide.Fraction{V: 0.95, Quality: judge.Good}
	})
	h := ledger.New("lower", s)
	h.Add(s, seen, does(0, decide.Discharge, 1, 0), hour)
	got := h.Stores[0]
	if got.In != (ledger.Heat{}) || got.CondensateLitres != 0 || !(got.Out.SensibleKWh > 0) {
		t.Errorf("air that is warmed by 2 K gives %+v", got)
	}
	w := physics.SatHumidityRatio(12, s.PressurePa)
	want := 2 * (1.006 + 1.86*w) / physics.SpecificVolume(12, w, s.PressurePa)
	if math.Abs(got.Out.SensibleKWh-want) > 1e-3*want || got.MeasuredOut != got.Out {
		t.Errorf("it brings up %+v, want %v kWh", got.Out, want)
	}
}

func TestElectricityIsMetered(t *testing.T) {
	meter := func(proof decide.Proof, powerW float64) decide.Feedback {
		return decide.Feedback{Proof: proof, PowerKnown: true, PowerW: powerW}
	}
	tests := []struct {
		name  string
		seen  decide.Feedback
		stage uint8
		kWh   float64
	}{
		{"none, as stated", decide.Feedback{}, 1, 0.6},
		{"a meter", meter(decide.SeenRunning, 480), 1, 0.48},
		{"a fan that is seen to stand draws what it draws", meter(decide.SeenStill, 30), 1, 0.03},
		{"one that does not stop", meter(decide.SeenRunning, 480), 0, 0.48},
		{"one at rest costs nothing", meter(decide.SeenStill, 4), 0, 0},
		{"nor what is not known of one that is off", meter(decide.NoProof, 300), 0, 0},
		{"off and seen to run, without a meter", decide.Feedback{Proof: decide.SeenRunning}, 0, 0},
		{"a meter that says less than nothing", meter(decide.SeenRunning, -5), 1, 0.6},
		{"or what no meter can", meter(decide.SeenRunning, math.Inf(1)), 1, 0.6},
		{"or nonsense", meter(decide.SeenRunning, math.NaN()), 1, 0.6},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := two()
			in := &decide.Inputs{}
			in.Stores[0].Fans[0] = tt.seen
			state := decide.Charge
			if tt.stage == 0 {
				state = decide.Rest
			}
			d := does(0, state, tt.stage)
			h := ledger.New("lower", s)
			h.Add(s, in, d, hour)
			fan := h.Stores[0].Fans[0]
			if fan.EnergyKWh != tt.kWh || math.Abs(h.ElectricityMoney-0.20*tt.kWh) > 1e-12 {
				t.Errorf("%v kWh for %v, want %v kWh", fan.EnergyKWh, h.ElectricityMoney, tt.kWh)
			}
			if want := float64(tt.stage) * hour; fan.RunTotalS() != want {
				t.Errorf("it ran %v s, want the time it was told to: %v s", fan.RunTotalS(), want)
			}
		})
	}
}
