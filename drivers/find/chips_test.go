package find

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"loambank/drivers/device"
)

var (
	lost    = []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff}
	fine    = map[string][]byte{"02": {0x80, 0x00}, "03": {0x7f, 0xff}}
	fresh   = []byte{0xc0, 0x80, 0x00, 0x08, 0x00} // MCP4725 as delivered, half of full scale; from memory
	dacs    = map[string][]byte{"": fresh}
	orderOf = func(order string, answer []byte) map[string][]byte { return map[string][]byte{order: answer} }
)

func TestChipsAreRecognisedByWhatOnlyTheyAnswer(t *testing.T) {
	for _, c := range []struct {
		name    string
		addr    uint16
		answers map[string][]byte
		want    string // driver; "?" is something unknown, "" is nothing there
		measure []Measure
	}{
		// Checksums: sensors-S023 to S031, by chip.CRC8.
		{"an SHT4x gives its serial number", 0x44, orderOf("89", words(0xbeef, 0x8000)), "sht4x", []Measure{Temperature, Humidity}},
		{"an SHT4x at its other address", 0x46, orderOf("89", words(0x0066, 0x0000)), "sht4x", []Measure{Temperature, Humidity}},
		{"an SHT3x gives its status", 0x45, orderOf("f32d", words(0x8010)), "sht3x", []Measure{Temperature, Humidity}},
		{"a serial number with a wrong checksum is none", 0x44, orderOf("89", []byte{0xbe, 0xef, 0x93, 0, 0, 0x81}), "?", nil},
		{"an SHT3x has no 0x46", 0x46, orderOf("f32d", words(0x8010)), "", nil},
		{"a wire that nobody drives is no chip", 0x44, orderOf("89", lost), "?", nil},
		{"an ADS1115 has its thresholds", 0x48, fine, "ads1115", []Measure{Voltage, Voltage, Voltage, Voltage}},
		{"an ADS1115 at its last address", 0x4b, fine, "ads1115", []Measure{Voltage, Voltage, Voltage, Voltage}},
		{"a thermometer at that address has others", 0x48, map[string][]byte{"02": {0x4b, 0}, "03": {0x50, 0}}, "?", nil},
		{"one threshold alone is not enough", 0x49, map[string][]byte{"02": {0x80, 0}, "03": {0x50, 0}}, "?", nil},
		{"the other alone is not either", 0x49, map[string][]byte{"02": {0x4b, 0}, "03": {0x7f, 0xff}}, "?", nil},
		{"a converter that is not ready is none", 0x60, orderOf("", []byte{0x40, 0x80, 0x00, 0x08, 0}), "?", nil},
		{"an MCP4725 has the form of its bytes", 0x60, dacs, "dac", []Measure{Nothing}},
		{"an MCP4725 where an SCD4x may be", 0x62, dacs, "dac", []Measure{Nothing}},
		{"other bytes are no MCP4725", 0x61, orderOf("", []byte{0xc0, 0x80, 0x01, 0x08, 0}), "?", nil},
		{"an SCD4x says whether it has data", 0x62, orderOf("e4b8", words(0x8000)), "scd4x", []Measure{CO2}},
		{"an SCD4x has one address", 0x63, orderOf("e4b8", words(0x8000)), "", nil},
		{"a BME280 gives its number", 0x76, orderOf("d0", []byte{0x60}), "bme280", []Measure{Temperature, Humidity, Pressure}},
		{"a BMP280 has no humidity", 0x76, orderOf("d0", []byte{0x58}), "bme280", []Measure{Temperature, Pressure}},
		{"another number is another chip", 0x76, orderOf("d0", []byte{0x61}), "?", nil},
		{"nothing there", 0x44, nil, "", nil},
		{"an address of no known chip is not asked", 0x20, orderOf("", fresh), "", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, _ := tree(t)
			b := f.withChips("I2C1", map[uint16]map[string][]byte{c.addr: c.answers})
			var driver string
			var measures []Measure
			for _, found := range f.Find(t.Context()).Found {
				if found.Kind != Chip || found.At == "0x77" {
					continue
				}
				driver = found.Stanza.Driver
				if driver == "" {
					driver = "?"
				} else {
					measures = append(measures, found.Measure)
					if found.How == "" {
						t.Error("it does not say how it was recognised")
					}
				}
			}
			if driver != c.want || !slices.Equal(measures, c.measure) {
				t.Errorf("it is taken for %q with %v; want %q with %v", driver, measures, c.want, c.measure)
			}
			if b.open != 0 {
				t.Error("the bus is left open")
			}
		})
	}
}

func TestAConverterIsNeverWrittenTo(t *testing.T) {
	f, _ := tree(t)
	b := f.withChips("I2C1", map[uint16]map[string][]byte{0x60: dacs, 0x62: dacs})
	f.Find(t.Context())
	for addr := uint16(0x60); addr <= 0x67; addr++ {
		if len(b.told[addr]) != 0 {
			t.Errorf("0x%02x was told %v, which could move a fan", addr, b.told[addr])
		}
	}
}

func TestStanzasNameAnUnusualAddress(t *testing.T) {
	f, _ := tree(t)
	f.withChips("I2C1", map[uint16]map[string][]byte{
		0x44: orderOf("89", words(1, 2)), 0x45: orderOf("89", words(1, 3)),
	})
	r := f.Find(t.Context())
	usual, other := at(t, r, "0x44", Humidity).Stanza, at(t, r, "0x45", Humidity).Stanza
	if usual.Address != 0 || other.Address != 0x45 || usual.Bus != "I2C1" || usual.Quantity != device.Humidity {
		t.Errorf("stanzas are %+v and %+v", usual, other)
	}
}

func TestChipsOfOthersAreLeftAlone(t *testing.T) {
	f, _ := tree(t)
	b := f.withChips("I2C1", map[uint16]map[string][]byte{
		0x44: orderOf("89", words(1, 2)), 0x77: orderOf("d0", []byte{0x60}),
	})
	f.Leave = func(bus string, addr uint16) string {
		if bus == "I2C1" && addr == 0x44 {
			return "somebody reads it"
		}
		return ""
	}
	r := f.Find(t.Context())
	if got := at(t, r, "0x44", Nothing); got.Note != "somebody reads it" || got.Stanza.Driver != "" {
		t.Errorf("a chip to be left alone is %+v", got)
	}
	if got := at(t, r, "0x77", Nothing); !strings.Contains(got.Note, "the kernel's driver bme280 has this chip") {
		t.Errorf("a chip of the kernel's is %+v", got)
	}
	if len(b.told[0x44])+len(b.told[0x77]) != 0 {
		t.Errorf("they were told %v and %v", b.told[0x44], b.told[0x77])
	}
}

func TestABusOfTheScreenIsNotAsked(t *testing.T) {
	f, _ := tree(t)
	b := f.withChips("I2C20", map[uint16]map[string][]byte{0x44: orderOf("89", words(1, 2))})
	r := f.Find(t.Context())
	if len(b.told) != 0 || b.open != 0 {
		t.Errorf("it was told %v", b.told)
	}
	advised(t, r, Chip, "I2C20 is left alone")
}

func TestABusThatHangsIsNotAskedFurther(t *testing.T) {
	f, _ := tree(t)
	b := f.withChips("I2C1", nil)
	b.fault = errors.New("a wire of the bus stays low")
	r := f.Find(t.Context())
	advised(t, r, Chip, "I2C1 cannot be asked further: a wire of the bus stays low; look at the wires")
	if len(b.told) != 1 || len(b.told[0x44]) != 1 {
		t.Errorf("after the first order it was told %v", b.told)
	}
	if b.open != 0 {
		t.Error("the bus is left open")
	}
}

func TestAConverterDoesNotChangeByItself(t *testing.T) {
	f, _ := tree(t)
	b := f.withChips("I2C1", map[uint16]map[string][]byte{0x60: orderOf("", slices.Clone(fresh))})
	b.counts = true
	if got := at(t, f.Find(t.Context()), "0x60", Nothing); got.Stanza.Driver != "" {
		t.Errorf("a chip whose bytes change is taken for %s", got.Stanza.Driver)
	}
}
