package bme280

import (
	"encoding/binary"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

// numbers finds the list of whole numbers after a word in a reference row's text.
func numbers(t *testing.T, text, after string) []int {
	t.Helper()
	_, rest, found := strings.Cut(text, after)
	if !found {
		t.Fatalf("no %q in %q", after, text)
	}
	var all []int
	for _, word := range strings.Split(strings.FieldsFunc(strings.TrimSpace(rest), func(r rune) bool { return r == ';' || r == ' ' })[0], ",") {
		n, err := strconv.Atoi(word)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		all = append(all, n)
	}
	return all
}

// registers puts calibration numbers where the chip has them, which table 16 of the data sheet says.
func registers(ts, ps, hs []int) (first, second []byte) {
	first, second = make([]byte, 26), make([]byte, 7)
	for i, n := range append(append([]int(nil), ts...), ps...) {
		binary.LittleEndian.PutUint16(first[2*i:], uint16(n))
	}
	if hs != nil {
		first[25] = byte(hs[0])
		binary.LittleEndian.PutUint16(second, uint16(hs[1]))
		second[2] = byte(hs[2])
		second[3], second[4] = byte(hs[3]>>4), byte(hs[3]&0x0f)|byte(hs[4]&0x0f)<<4
		second[5], second[6] = byte(hs[4]>>4), byte(hs[5])
	}
	return first, second
}

func data(p, t, h int) []byte {
	return []byte{
		byte(p >> 12), byte(p >> 4), byte(p << 4), byte(t >> 12), byte(t >> 4), byte(t << 4), byte(h >> 8), byte(h),
	}
}

// The calibration of the data sheet's example, sensors-S055, and of the rows for humidity.
var (
	someT = []int{27504, 26435, -1000}
	someP = []int{36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000}
	someH = []int{75, 362, 0, 313, 50, 30}
)

func meeting(id byte, first, second []byte) []i2ctest.IO {
	ops := []i2ctest.IO{{Addr: Address, W: []byte{0xd0}, R: []byte{id}}, {Addr: Address, W: []byte{0x88}, R: first}}
	if id == 0x60 {
		ops = append(ops, i2ctest.IO{Addr: Address, W: []byte{0xe1}, R: second})
	}
	return ops
}

func measure(state []byte, values []byte) []i2ctest.IO {
	return []i2ctest.IO{
		{Addr: Address, W: []byte{0xf2, 0x01, 0xf4, 0x25}},
		{Addr: Address, W: []byte{0xf2}, R: append(append([]byte(nil), state...), values...)},
	}
}

var done = []byte{0x01, 0x00, 0x24, 0x00, 0x00}

func newDev(t *testing.T, q device.Quantity, ops ...i2ctest.IO) (*Dev, *chiptest.Clock, *i2ctest.Playback) {
	t.Helper()
	clock, bus := &chiptest.Clock{}, &i2ctest.Playback{Ops: ops, DontPanic: true}
	d, err := New(bus, Address, Opts{Name: "lower/air", Quantity: q, Sleep: clock.Sleep})
	if err != nil {
		t.Fatal(err)
	}
	return d, clock, bus
}

func TestReferenceRowsOfTemperatureAndPressure(t *testing.T) {
	for _, row := range append(chiptest.Rows(t, "BMP280/BME280 compensation"), chiptest.Rows(t, "BMP280 datasheet worked example")...) { // sensors-S055 to S058
		text := row.Inputs["cal"] + "; "
		for name := range row.Inputs { // the rows part their inputs by the sign that parts these lists
			if strings.Contains(name, "dig_P") {
				text += name
			}
		}
		first, second := registers(numbers(t, text, "dig_T "), numbers(t, text, "dig_P "), someH)
		adcT, adcP := 519888, 415148
		if row.Inputs["adc_T"] != "" {
			adcT, adcP = int(row.Float(t, "adc_T")), int(row.Float(t, "adc_P"))
		}
		for i, q := range []device.Quantity{device.Temperature, device.Pressure} {
			for _, id := range []byte{0x60, 0x58} {
				d, clock, bus := newDev(t, q, append(meeting(id, first, second), measure(done, data(adcP, adcT, 30000))...)...)
				v, err := d.Read(t.Context())
				tol := []float64{0.01, 0.3}[i]
				if err != nil || math.Abs(v-row.Expected[i]) > tol {
					t.Errorf("%s, %v of chip %02x: %v, %v; want %v", row.ID, q, id, v, err, row.Expected[i])
				}
				if clock.Slept < 9300*1000 {
					t.Errorf("waited %v; want 9.3 ms, by its data sheet", clock.Slept)
				}
				if err := errors.Join(d.Close(), bus.Close()); err != nil {
					t.Error(err)
				}
			}
		}
	}
}

func TestReferenceRowsOfHumidity(t *testing.T) {
	for _, row := range chiptest.Rows(t, "BME280 humidity") { // sensors-S060 to S062
		first, second := registers(someT, someP, numbers(t, row.Quantity, "dig_H1..6 = "))
		adc := data(415148, int(row.Float(t, "adc_T")), int(row.Float(t, "adc_H")))
		d, _, _ := newDev(t, device.Humidity, append(meeting(0x60, first, second), measure(done, adc)...)...)
		if v, err := d.Read(t.Context()); err != nil || math.Abs(100*v-row.Expected[0]) > 0.05 {
			t.Errorf("%s: %v, %v; want %v %%", row.ID, 100*v, err, row.Expected[0])
		}
	}
	for adcH, want := range map[int]float64{0: 0, 0xffff: 1} {
		first, second := registers(someT, someP, someH)
		d, _, _ := newDev(t, device.Humidity, append(meeting(0x60, first, second), measure(done, data(415148, 519888, adcH))...)...)
		if v, err := d.Read(t.Context()); v != want || err != nil {
			t.Errorf("code %d: %v, %v; want it cropped to %v", adcH, v, err, want)
		}
	}
}

// dig_H4 and dig_H5 are signed and share a byte; dig_H6 is a signed byte. Table 16 of the data sheet.
func TestNegativeCalibration(t *testing.T) {
	hs := []int{75, -362, 200, -313, -50, -30}
	c, err := readTrim(registers(someT, someP, hs))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range hs {
		if c.h[i+1] != float64(want) {
			t.Errorf("dig_H%d is %v; want %v", i+1, c.h[i+1], want)
		}
	}
	for i, want := range someP {
		if c.p[i+1] != float64(want) {
			t.Errorf("dig_P%d is %v; want %v", i+1, c.p[i+1], want)
		}
	}
}

// The rows leave dig_H3 at 0. By the formula a positive one raises what is read above 15 °C, where
// t_fine is 76800, and its square law leaves that above it.
func TestTheThirdTrimOfHumidity(t *testing.T) {
	var c trim
	for i, n := range someH {
		c.h[i+1] = float64(n)
	}
	warm := 25.0 * 5120
	without := c.humidity(30000, warm)
	c.h[3] = 200
	if with := c.humidity(30000, warm); with <= without {
		t.Errorf("%v with it, %v without; want it raised", with, without)
	}
	c.h[3] = 0
	if at15 := c.humidity(30000, 76800); at15 != func() float64 { c.h[3] = 200; return c.humidity(30000, 76800) }() {
		t.Errorf("%v at 15 °C; want it without effect there", at15)
	}
}

func TestFaultyAnswers(t *testing.T) {
	first, second := registers(someT, someP, someH)
	good := data(415148, 519888, 30000)
	tests := []struct {
		name     string
		ops      []i2ctest.IO
		quantity device.Quantity
		is       error
		want     string
	}{
		{"another chip", []i2ctest.IO{{Addr: Address, W: []byte{0xd0}, R: []byte{0x61}}}, device.Temperature, device.ErrFormat, "says it is 61"},
		{"no humidity in a BMP280", []i2ctest.IO{{Addr: Address, W: []byte{0xd0}, R: []byte{0x58}}}, device.Humidity, nil, "which has no humidity"},
		{"a calibration of zeros", meeting(0x60, make([]byte, 26), second), device.Temperature, device.ErrFormat, "calibration reads 00"},
		{"a calibration of an idle wire", meeting(0x60, []byte(strings.Repeat("\xff", 26)), second), device.Temperature, device.ErrFormat, "calibration reads ff"},
		{"a temperature left out", append(meeting(0x60, first, second), measure(done, data(415148, 0x80000, 30000))...), device.Humidity, device.ErrFormat, "nothing was measured"}, // sensors-S059
		{"a humidity left out", append(meeting(0x60, first, second), measure(done, data(415148, 519888, 0x8000))...), device.Humidity, device.ErrFormat, "nothing was measured"},    // sensors-S059
		{"a pressure left out", append(meeting(0x60, first, second), measure(done, data(0x80000, 519888, 30000))...), device.Pressure, device.ErrFormat, "nothing was measured"},    // sensors-S059
		{"power lost after the order", append(meeting(0x60, first, second), measure([]byte{0, 0, 0, 0, 0}, data(0x80000, 0x80000, 0x8000))...), device.Temperature, device.ErrFormat, "lost power"},
		{"the samples of humidity forgotten", append(meeting(0x60, first, second), measure([]byte{0, 0, 0x24, 0, 0}, good)...), device.Humidity, device.ErrFormat, "lost power"},
		{"a temperature that no air has", append(meeting(0x60, first, second), measure(done, data(415148, 0xfffff, 30000))...), device.Temperature, device.ErrFormat, "outside -40..85"},
		{"too cold to be", append(meeting(0x60, first, second), measure(done, data(415148, 200000, 30000))...), device.Temperature, device.ErrFormat, "outside -40..85"},
		{"a pressure under that of any hill", append(meeting(0x60, first, second), measure(done, data(850000, 519888, 30000))...), device.Pressure, device.ErrFormat, "outside 30000..110000"},
		{"a pressure that no air has", append(meeting(0x60, first, second), measure(done, data(0xfffff, 519888, 30000))...), device.Pressure, device.ErrFormat, "outside 30000..110000"},
	}
	for _, tt := range tests {
		d, _, _ := newDev(t, tt.quantity, tt.ops...)
		v, err := d.Read(t.Context())
		if v != 0 || err == nil || tt.is != nil && !errors.Is(err, tt.is) || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "probe lower/air at 0x76 on playback: ") {
			t.Errorf("%s: %v, %v; want %s", tt.name, v, err, tt.want)
		}
	}
	// One quantity that is missing does not spoil another.
	d, _, _ := newDev(t, device.Temperature, append(meeting(0x60, first, second), measure(done, data(0x80000, 519888, 0x8000))...)...)
	if v, err := d.Read(t.Context()); err != nil || math.Abs(v-25.08) > 0.01 { // sensors-S055
		t.Errorf("without pressure and humidity: %v, %v; want 25.08 °C", v, err)
	}
}

func TestASlowChipIsWaitedFor(t *testing.T) {
	first, second := registers(someT, someP, someH)
	good := data(415148, 519888, 30000)
	busy := i2ctest.IO{Addr: Address, W: []byte{0xf2}, R: append([]byte{0x01, 0x08, 0x24, 0, 0}, good...)}
	copying := i2ctest.IO{Addr: Address, W: []byte{0xf2}, R: append([]byte{0x01, 0x01, 0x24, 0, 0}, good...)}
	forced := i2ctest.IO{Addr: Address, W: []byte{0xf2}, R: append([]byte{0x01, 0x00, 0x25, 0, 0}, good...)}
	order := measure(done, good)
	d, _, bus := newDev(t, device.Temperature, append(meeting(0x60, first, second), order[0], busy, copying, forced, order[1])...)
	if v, err := d.Read(t.Context()); err != nil || math.Abs(v-25.08) > 0.01 {
		t.Errorf("got %v, %v; want 25.08 °C", v, err)
	}
	if err := bus.Close(); err != nil {
		t.Error(err)
	}
	d, _, _ = newDev(t, device.Temperature, append(meeting(0x60, first, second), order[0], busy, busy, busy, busy, busy)...)
	if v, err := d.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrFormat) || !strings.Contains(err.Error(), "has not measured in 50ms") {
		t.Errorf("for ever: %v, %v; want that it has not measured", v, err)
	}
}

// After a fault another chip may have been plugged in, with its own calibration.
func TestUnpluggedAndPluggedBack(t *testing.T) {
	first, second := registers(someT, someP, someH)
	other, _ := registers([]int{28000, 26435, -1000}, someP, someH)
	there, met := true, 0
	bus := chiptest.Bus(func(_ uint16, w, r []byte) error {
		if !there {
			return device.ErrAbsent
		}
		switch {
		case w[0] == 0xd0:
			r[0] = 0x60
			met++
		case w[0] == 0x88:
			copy(r, first)
		case w[0] == 0xe1:
			copy(r, second)
		case len(r) > 0:
			copy(r, append(append([]byte(nil), done...), data(415148, 519888, 30000)...))
		}
		return nil
	})
	d, err := New(bus, Address, Opts{Name: "lower/air", Quantity: device.Temperature, Sleep: (&chiptest.Clock{}).Sleep})
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if v, err := d.Read(t.Context()); err != nil || math.Abs(v-25.08) > 0.01 || met != 1 {
			t.Errorf("got %v, %v, met %d times; want 25.08 °C, once", v, err, met)
		}
	}
	there = false
	if v, err := d.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrAbsent) || err.Error() != "probe lower/air at 0x76 on I2C1: the device is not there" {
		t.Errorf("unplugged: %v, %v; want ErrAbsent", v, err)
	}
	there, first = true, other
	if v, err := d.Read(t.Context()); err != nil || v > 24 || met != 2 {
		t.Errorf("another chip: %v, %v, met %d times; want its own calibration to count", v, err, met)
	}
}

func TestRefused(t *testing.T) {
	if d, err := New(chiptest.Bus(nil), Address, Opts{Name: "p", Quantity: device.CO2}); d != nil || err == nil || !strings.Contains(err.Error(), "does not measure co2; it has temperature, humidity and pressure") {
		t.Errorf("co2: %v; want it refused", err)
	}
}
