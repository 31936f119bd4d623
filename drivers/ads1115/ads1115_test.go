package ads1115

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"
	"pgregory.net/rapid"

	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

// usual is the thermistor and the divider of the reference rows.
var usual = NTC{Beta: 3950, Ohm: 10_000, FixedOhm: 10_000, SupplyV: 3.3}

func TestReferenceRowsOfVoltage(t *testing.T) {
	for _, row := range chiptest.Rows(t, "ADS1115 code") { // sensors-S063 to S069
		b := row.Hex(t, "code_hex")
		fullScale := row.Float(t, "FSR_V")
		v := volts(uint16(b[0])<<8|uint16(b[1]), fullScale)
		if math.Abs(v-row.Expected[0]) > 1e-9 {
			t.Errorf("%s: %v; want %v", row.ID, v, row.Expected[0])
		}
	}
}

func TestReferenceRowsOfThermistors(t *testing.T) {
	for _, row := range chiptest.Rows(t, "NTC 10k B3950") { // sensors-S070 to S081
		want := row.Float(t, "t_C")
		n := NTC{Beta: row.Float(t, "B"), Ohm: row.Float(t, "R25")}
		if got := n.celsius(row.Expected[0]); math.Abs(got-want) > 0.005 {
			t.Errorf("%s: %v Ω is %v °C; want %v", row.ID, row.Expected[0], got, want)
		}
	}
	for _, row := range chiptest.Rows(t, "divider") { // sensors-S082 to S084
		n := NTC{Beta: row.Float(t, "B"), Ohm: 10_000, FixedOhm: row.Float(t, "R_fixed"), SupplyV: row.Float(t, "Vcc")}
		want := row.Float(t, "t_C")
		if got, err := n.Celsius(row.Expected[0]); err != nil || math.Abs(got-want) > 0.005 {
			t.Errorf("%s: %v V is %v °C, %v; want %v", row.ID, row.Expected[0], got, err, want)
		}
		n.ToSupply = true
		if got, err := n.Celsius(n.SupplyV - row.Expected[0]); err != nil || math.Abs(got-want) > 0.005 {
			t.Errorf("%s, the other way up: %v °C, %v; want %v", row.ID, got, err, want)
		}
	}
	n := NTC{}
	for i, text := range []string{"2.108508173e-3", "0.7979204727e-4", "6.535076315e-7"} {
		n.Steinhart[i] = chiptest.Rows(t, "Steinhart-Hart A,B,C")[0].Expected[i] // sensors-S085
		if want, err := strconv.ParseFloat(text, 64); err != nil || n.Steinhart[i] != want {
			t.Fatalf("sensors-S085 reads %v", n.Steinhart)
		}
	}
	for _, row := range chiptest.Rows(t, "Steinhart-Hart temperature") { // sensors-S086 to S090
		if got := n.celsius(row.Float(t, "R_ohm")); math.Abs(got-row.Expected[0]) > 0.01 {
			t.Errorf("%s: %v °C; want %v", row.ID, got, row.Expected[0])
		}
	}
}

// converted is what a conversion of an input looks like on the bus.
func converted(config, state, result uint16) []i2ctest.IO {
	return []i2ctest.IO{
		{Addr: Address, W: []byte{0x01, byte(config >> 8), byte(config)}},
		{Addr: Address, W: []byte{0x01}, R: []byte{byte(state >> 8), byte(state)}},
		{Addr: Address, W: []byte{0x00}, R: []byte{byte(result >> 8), byte(result)}},
	}
}

func read(t *testing.T, o Opts, ops ...i2ctest.IO) (float64, time.Duration, error) {
	t.Helper()
	clock, bus := &chiptest.Clock{}, &i2ctest.Playback{Ops: ops, DontPanic: true}
	o.Name, o.Sleep = "lower/soil", clock.Sleep
	d, err := New(bus, Address, o)
	if err != nil {
		t.Fatal(err)
	}
	v, err := d.Read(t.Context())
	if bus.Count != len(ops) {
		t.Errorf("%d of %d transfers were made", bus.Count, len(ops))
	}
	return v, clock.Slept, err
}

// The words of the config register are put together by hand from table 8-3 of the data sheet:
// begin 1, input 100 to 111, range 000 (6.144 V) or 001 (4.096 V), single 1, 8 a second 000, no
// comparator 00011.
func TestInputsAndRanges(t *testing.T) {
	five := usual
	five.SupplyV = 5
	half := uint16(13200) // 1.65 V of 4.096 V: half of 3.3 V, so 25 °C (sensors-S083)
	for _, tt := range []struct {
		name   string
		o      Opts
		config uint16
		code   uint16
		want   float64
	}{
		{"input 0", Opts{NTC: &usual}, 0b1_100_001_1_000_00011, half, 25},
		{"input 1", Opts{Channel: 1, NTC: &usual}, 0b1_101_001_1_000_00011, half, 25},
		{"input 2", Opts{Channel: 2, NTC: &usual}, 0b1_110_001_1_000_00011, half, 25},
		{"input 3", Opts{Channel: 3, NTC: &usual}, 0b1_111_001_1_000_00011, half, 25},
		{"a supply of 5 V", Opts{NTC: &five}, 0b1_100_000_1_000_00011, 13333, 25},
		{"a voltage", Opts{Channel: 2}, 0b1_110_000_1_000_00011, 0x4000, 3.072},
		{"a voltage a little under ground", Opts{}, 0b1_100_000_1_000_00011, 0xffff, -0.0001875},
	} {
		v, slept, err := read(t, tt.o, converted(tt.config, tt.config, tt.code)...)
		if err != nil || math.Abs(v-tt.want) > 0.005 {
			t.Errorf("%s: %v, %v; want %v", tt.name, v, err, tt.want)
		}
		if slept < 137500*time.Microsecond {
			t.Errorf("%s: waited %v; want an eighth of a second and a tenth more", tt.name, slept)
		}
	}
}

func TestFaultyAnswers(t *testing.T) {
	const config = 0b1_100_001_1_000_00011
	volt := func(v float64) uint16 { return uint16(int16(math.Round(v / 4.096 * 32768))) }
	for _, tt := range []struct {
		name string
		ops  []i2ctest.IO
		is   error
		want string
	}{
		{"a broken wire", converted(config, config, volt(3.3)), device.ErrAbsent, "its wire is broken"},               // sensors-S091
		{"a wire that leaks a little", converted(config, config, volt(3.24)), device.ErrAbsent, "its wire is broken"}, // sensors-S091
		{"a short", converted(config, config, 0), device.ErrFormat, "shorted"},                                        // sensors-S091
		{"a short with some resistance", converted(config, config, volt(0.06)), device.ErrFormat, "shorted"},          // sensors-S091
		{"under ground", converted(config, config, 0xff00), device.ErrFormat, "shorted"},
		{"hotter than 110 °C", converted(config, config, volt(0.12)), device.ErrFormat, "look at its figures"},
		{"power lost after the order", converted(config, 0x8583, volt(1))[:2], device.ErrFormat, "lost power"}, // its value after power-on
		{"another input than asked for", converted(config, config|1<<12, volt(1))[:2], device.ErrFormat, "lost power"},
	} {
		v, _, err := read(t, Opts{NTC: &usual}, tt.ops...)
		if v != 0 || !errors.Is(err, tt.is) || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "probe lower/soil at 0x48 on playback: ") {
			t.Errorf("%s: %v, %v; want %s", tt.name, v, err, tt.want)
		}
	}
	if v, _, err := read(t, Opts{}, converted(0b1_100_000_1_000_00011, 0b1_100_000_1_000_00011, 0x7fff)...); v != 0 || !errors.Is(err, device.ErrFormat) {
		t.Errorf("over full scale: %v, %v; want ErrFormat", v, err)
	}
	late := converted(config, config&^begin, volt(1.65))
	if v, _, err := read(t, Opts{NTC: &usual}, late[0], late[1], converted(config, config, 0)[1], late[2]); err != nil || math.Abs(v-25) > 0.01 {
		t.Errorf("a late conversion: %v, %v; want 25", v, err)
	}
	if v, _, err := read(t, Opts{NTC: &usual}, late[0], late[1], late[1], late[1]); v != 0 || !errors.Is(err, device.ErrFormat) || !strings.Contains(err.Error(), "not done") {
		t.Errorf("a conversion that never ends: %v, %v; want that", v, err)
	}
}

func TestRefused(t *testing.T) {
	with := func(change func(*NTC)) Opts {
		n := usual
		change(&n)
		return Opts{NTC: &n}
	}
	for name, tt := range map[string]struct {
		o    Opts
		want string
	}{
		"input 4":           {Opts{Channel: 4}, "has no input 4; it has 0 to 3"},
		"input -1":          {Opts{Channel: -1}, "has no input -1"},
		"no B value":        {with(func(n *NTC) { n.Beta = 0 }), "no thermistor has a B value of 0 K"},
		"10 for 10 kΩ":      {with(func(n *NTC) { n.Ohm = 10 }), "and 10 Ω at 25 °C"},
		"no fixed resistor": {with(func(n *NTC) { n.FixedOhm = 0 }), "a fixed resistor of 0 Ω"},
		"no supply":         {with(func(n *NTC) { n.SupplyV = 0 }), "a supply of 0 V"},
		"a supply of 12 V":  {with(func(n *NTC) { n.SupplyV = 12 }), "a supply of 12 V"},
		"a supply of NaN":   {with(func(n *NTC) { n.SupplyV = math.NaN() }), "a supply of NaN V"},
		"both equations":    {with(func(n *NTC) { n.Steinhart[0] = 2e-3 }), "state one of the two"},
		"coefficients without their powers of ten": {
			with(func(n *NTC) { n.Beta, n.Ohm, n.Steinhart = 0, 0, [3]float64{2.1, 0.79, 6.5} }), "look at their powers of ten",
		},
	} {
		if d, err := New(chiptest.Bus(nil), Address, tt.o); d != nil || err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v; want %s", name, err, tt.want)
		}
	}
}

func TestUnpluggedAndPluggedBack(t *testing.T) {
	there := true
	var last []byte
	bus := chiptest.Bus(func(_ uint16, w, r []byte) error {
		switch {
		case !there:
			return device.ErrAbsent
		case len(w) == 3:
			last = w[1:]
		case w[0] == 1:
			copy(r, last)
		default:
			copy(r, []byte{13200 >> 8, 13200 & 0xff})
		}
		return nil
	})
	d, err := New(bus, Address, Opts{Name: "lower/soil", NTC: &usual, Sleep: (&chiptest.Clock{}).Sleep})
	if err != nil {
		t.Fatal(err)
	}
	for _, there = range []bool{true, false, false, true} {
		v, err := d.Read(t.Context())
		if there && (err != nil || math.Abs(v-25) > 0.01) {
			t.Errorf("plugged in: %v, %v; want 25", v, err)
		}
		if !there && (!errors.Is(err, device.ErrAbsent) || err.Error() != "probe lower/soil at 0x48 on I2C1: the device is not there") {
			t.Errorf("unplugged: %v, %v; want ErrAbsent", v, err)
		}
	}
	if err := d.Close(); err != nil {
		t.Error(err)
	}
}

// Whatever the input is at, there is a temperature in range or a fault, never both.
func TestEveryVoltageIsATemperatureOrAFault(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := NTC{
			Beta: rapid.Float64Range(1000, 10_000).Draw(t, "beta"), Ohm: rapid.Float64Range(100, 1e6).Draw(t, "ohm"),
			FixedOhm: rapid.Float64Range(100, 1e6).Draw(t, "fixed"), SupplyV: rapid.Float64Range(1, 5.5).Draw(t, "supply"),
			ToSupply: rapid.Bool().Draw(t, "to supply"),
		}
		if err := n.Check(); err != nil {
			t.Fatal(err)
		}
		v := rapid.Float64().Draw(t, "volts")
		c, err := n.Celsius(v)
		if err == nil && !(c >= -50 && c <= 110) || err != nil && c != 0 {
			t.Fatalf("%v V is %v °C, %v", v, c, err)
		}
	})
}
