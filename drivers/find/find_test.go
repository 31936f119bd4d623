package find

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"periph.io/x/conn/v3/onewire"

	"loambank/drivers"
	"loambank/drivers/board"
	"loambank/drivers/ds18b20"
)

func TestReadingsOfTheBoardAreThoseOfItsFiles(t *testing.T) {
	f, root := tree(t)
	r := f.Find(t.Context())
	for _, c := range []struct {
		name, at string
		measure  Measure
		want     float64
	}{
		// The scratchpads are those of sensors-S005 and sensors-S007.
		{"a thermometer of the 1-Wire bus", "28-0000075a1c01", Temperature, 25.062},
		{"another one", "28-0000075a1c05", Temperature, 0.5},
		{"a temperature of hwmon, thousandths of °C", "class/hwmon/hwmon2/temp1_input", Temperature, 18.001},
		{"a humidity of hwmon, thousandths of a percent", "class/hwmon/hwmon2/humidity1_input", Humidity, 0.36001},
		{"a temperature of iio, thousandths of °C", "bus/iio/devices/iio:device0/in_temp_input", Temperature, 21.31},
		{"a humidity of iio, thousandths of a percent", "bus/iio/devices/iio:device0/in_humidityrelative_input", Humidity, 0.47125},
		{"a pressure of iio, kPa", "bus/iio/devices/iio:device0/in_pressure_input", Pressure, 99505},
		// HDC2010 data sheet: T = raw/2¹⁶ · 165 − 40 °C, 21.875 at 24576.
		{"a raw temperature with scale and offset", "bus/iio/devices/iio:device1/in_temp_raw", Temperature, 21.875},
		// The kernel's scd30 driver: a raw ppm is 0.0001 percent (from memory).
		{"carbon dioxide of iio, percent", "bus/iio/devices/iio:device3/in_concentration_co2_raw", CO2, 425},
		{"light", "bus/iio/devices/iio:device2/in_illuminance_input", Light, 1234},
	} {
		t.Run(c.name, func(t *testing.T) {
			place := c.at
			if strings.Contains(place, "/") {
				place = filepath.Join(root, "sys", place)
			}
			p, err := drivers.OpenProbe(t.Context(), at(t, r, place, c.measure).Stanza)
			if err != nil {
				t.Fatal(err)
			}
			defer p.Close()
			if got, err := p.Read(t.Context()); err != nil || math.Abs(got-c.want) > 1e-3*max(1, math.Abs(c.want)/1000) {
				t.Errorf("it reads %v, %v; want %v", got, err, c.want)
			}
		})
	}
}

func TestWhatIsOfNoUseIsNamedAsSuch(t *testing.T) {
	f, root := tree(t)
	r := f.Find(t.Context())
	if cpu := at(t, r, filepath.Join(root, "sys/class/hwmon/hwmon0/temp1_input"), Temperature); !cpu.Own {
		t.Error("the processor's temperature passes for a probe")
	}
	if outer := at(t, r, filepath.Join(root, "sys/class/hwmon/hwmon2/temp1_input"), Temperature); outer.Own || !strings.Contains(outer.How, "intake") {
		t.Errorf("a probe with a label is %+v", outer)
	}
	switched := at(t, r, "3a-0000075a1d01", Nothing)
	if !strings.Contains(switched.Note, "family 3a is no thermometer") || switched.Stanza.Driver != "" {
		t.Errorf("a device of family 3a is %+v", switched)
	}
	if bare := at(t, r, "28-0000075a1c09", Nothing); !strings.Contains(bare.Note, "w1_therm") || bare.Stanza.Driver != "" {
		t.Errorf("a thermometer without its file is %+v", bare)
	}
	for _, found := range r.Found {
		if strings.Contains(found.At, "hwmon1") {
			t.Errorf("the thermometer of the 1-Wire bus is there twice, also as %s", found.At)
		}
		if strings.Contains(found.At, "in0_input") {
			t.Errorf("a voltage of the board passes for a probe: %s", found.At)
		}
	}
	for i := 1; i < len(r.Found); i++ {
		if r.Found[i-1].Kind == File && r.Found[i].Kind == Wire {
			t.Error("files come before 1-Wire devices")
		}
	}
}

func TestASearchOfTheBusGoesBeforeTheKernelsList(t *testing.T) {
	f, _ := tree(t)
	wires := f.withWires("OneWire1")
	a, err := ds18b20.ParseID("28-0000075a1c01")
	if err != nil {
		t.Fatal(err)
	}
	damaged := a ^ 1<<60
	wires[0].there = []onewire.Address{a, damaged}
	r := f.Find(t.Context())
	var same []Found
	for _, found := range r.Found {
		if found.At == "28-0000075a1c01" {
			same = append(same, found)
		}
	}
	if len(same) != 2 || same[0].Stanza.Driver != "ds18b20" || same[0].Stanza.ID != "28-0000075a1c01" || same[0].Stanza.Bus != "" || same[0].Bus != "OneWire1" {
		t.Fatalf("found %+v; want the thermometer of the first bus, and the damaged address", same)
	}
	if !strings.Contains(same[1].Note, "does not match its checksum") || same[1].Stanza.Driver != "" {
		t.Errorf("a damaged address is %+v", same[1])
	}
	if other := at(t, r, "28-0000075a1c05", Temperature); other.Stanza.Driver != "file" {
		t.Errorf("one that only the kernel lists is %+v; want its file", other)
	}
	if wires[0].open != 0 {
		t.Error("the bus is left open")
	}
	wires = f.withWires("OneWire1", "OneWire2")
	wires[1].there = []onewire.Address{a}
	r = f.Find(t.Context())
	if got := at(t, r, "28-0000075a1c01", Temperature).Stanza.Bus; got != "OneWire2" {
		t.Errorf("with two buses its bus is %q, want OneWire2", got)
	}
	advised(t, r, Wire, "OneWire1 is there and nothing answers on it")
}

func advised(t *testing.T, r Report, k Kind, text string) {
	t.Helper()
	for _, a := range r.Advice {
		if a.Kind == k && strings.Contains(a.Text, text) {
			return
		}
	}
	t.Errorf("no advice on %s says %q; there is %+v", k, text, r.Advice)
}

func TestWhatIsMissingIsSaidWithARemedy(t *testing.T) {
	none := New(t.TempDir(), t.TempDir()).Find(t.Context())
	if len(none.Found) != 0 {
		t.Errorf("an empty machine shows %+v", none.Found)
	}
	advised(t, none, Wire, "dtoverlay=w1-gpio")
	advised(t, none, Chip, "dtparam=i2c_arm=on")
	advised(t, none, Line, "there is no gpiochip in")
	if len(none.Advice) != 3 {
		t.Errorf("an empty machine gets %d pieces of advice, want 3: %+v", len(none.Advice), none.Advice)
	}

	f, root := tree(t)
	r := f.Find(t.Context())
	advised(t, r, Chip, "load the module i2c-dev")
	advised(t, r, Wire, "may be a minute old")

	bare := t.TempDir()
	mustWrite(t, filepath.Join(bare, "sys/bus/w1/devices/w1_bus_master1/w1_master_slave_count"), "0\n")
	mustWrite(t, filepath.Join(bare, "dev/gpiochip0"), "")
	r = finder(bare).Find(t.Context())
	advised(t, r, Wire, "the kernel lists no device on it")
	for _, a := range r.Advice {
		if a.Kind == Line {
			t.Errorf("lines that could be listed, none of them, get the advice %q", a.Text)
		}
	}

	f = finder(root)
	wires := f.withWires("OneWire1")
	wires[0].fail = os.ErrPermission
	f.lines = func(context.Context) ([]board.Line, error) { return nil, errors.New("gpiochip0: permission denied") }
	f.withChips("I2C1", nil).fault = os.ErrPermission
	r = f.Find(t.Context())
	advised(t, r, Wire, "run this with sudo")
	advised(t, r, Chip, "let your user into the group")
	advised(t, r, Line, "gpiochip0: permission denied")
	at(t, r, "28-0000075a1c05", Temperature) // is shown all the same
}

func TestLinesCarryTheirHolder(t *testing.T) {
	f, _ := tree(t)
	f.lines = func(context.Context) ([]board.Line, error) {
		return []board.Line{
			{Chip: "gpiochip0", Number: 4, Name: "GPIO4", Used: true, Holder: "onewire@0"},
			{Chip: "gpiochip0", Number: 17, Name: "GPIO17"},
			{Chip: "gpiochip0", Number: 18, Name: "GPIO18", Used: true},
		}, nil
	}
	r := f.Find(t.Context())
	for _, c := range []struct{ at, bus, holder string }{
		{"GPIO4", "gpiochip0:4", "onewire@0"},
		{"GPIO17", "gpiochip0:17", ""},
		{"GPIO18", "gpiochip0:18", "somebody without a name"},
	} {
		if got := at(t, r, c.at, Nothing); got.Kind != Line || got.Bus != c.bus || got.Holder != c.holder {
			t.Errorf("%s is %+v; want %s held by %q", c.at, got, c.bus, c.holder)
		}
	}
}
