package ds18b20

import (
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"periph.io/x/conn/v3/onewire"
	"pgregory.net/rapid"

	"loambank/drivers/device"
)

// reference returns the rows of the table of sensors, by their id.
func reference(t testing.TB) map[string]map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "sensors.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]map[string]string{}
	for _, rec := range all[1:] {
		row := map[string]string{}
		for i, head := range all[0] {
			row[head] = rec[i]
		}
		rows[row["id"]] = row
	}
	return rows
}

// octets returns the bytes of a row's inputs, bytes=D0 07 …
func octets(t testing.TB, row map[string]string) []byte {
	t.Helper()
	_, text, ok := strings.Cut(row["inputs"], "=")
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if !ok || err != nil {
		t.Fatalf("%s: %q: %v", row["id"], row["inputs"], err)
	}
	return b
}

func full(t testing.TB, b []byte) (s scratchpad) {
	t.Helper()
	if len(b) == 8 {
		b = append(b, onewire.CalcCRC(b))
	}
	if copy(s[:], b) != 9 {
		t.Fatalf("% x is no scratchpad", b)
	}
	return s
}

func decode(family byte, s scratchpad) (float64, error) {
	bits, err := s.check(family)
	if err != nil {
		return 0, err
	}
	return s.celsius(family, bits)
}

// TestReferenceWords follows the rows in pairs: a register word with its temperature, then the
// scratchpad around the same word with its checksum.
func TestReferenceWords(t *testing.T) {
	rows := reference(t)
	for n := 1; n <= 13; n += 2 {
		word, pad := rows[fmt.Sprintf("sensors-S%03d", n)], rows[fmt.Sprintf("sensors-S%03d", n+1)]
		t.Run(word["id"], func(t *testing.T) {
			crc, err := strconv.ParseUint(pad["expected"], 16, 8)
			if err != nil {
				t.Fatal(err)
			}
			s := full(t, append(octets(t, pad), byte(crc)))
			if w := octets(t, word); s[1] != w[0] || s[0] != w[1] {
				t.Fatalf("%s does not hold the word of %s", pad["id"], word["id"])
			}
			want, err := strconv.ParseFloat(word["expected"], 64)
			if err != nil {
				t.Fatal(err)
			}
			for _, family := range []byte{ds18b20, ds1822} {
				got, err := decode(family, s)
				if want == 85 {
					if !errors.Is(err, device.ErrPowerOn) {
						t.Errorf("85 °C gives %g, %v; want ErrPowerOn", got, err)
					}
				} else if err != nil || got != want {
					t.Errorf("family %02x: %g, %v; want %g", family, got, err, want)
				}
			}
			s[8] ^= 1
			if _, err := decode(ds18b20, s); !errors.Is(err, device.ErrCRC) {
				t.Errorf("with another checksum: %v; want ErrCRC", err)
			}
		})
	}
}

func TestReferenceScratchpads(t *testing.T) {
	rows := reference(t)
	tests := []struct {
		row  string
		want float64
		err  error
	}{
		{"sensors-S015", 0, device.ErrPowerOn},
		{"sensors-S016", 25.875, nil},
		{"sensors-S017", 0, device.ErrFormat}, // all zero, which the checksum lets pass
	}
	for _, tt := range tests {
		b := octets(t, rows[tt.row])
		if tt.row == "sensors-S016" && len(b) != 9 {
			t.Fatalf("%s has %d bytes", tt.row, len(b))
		}
		got, err := decode(ds18b20, full(t, b))
		if got != tt.want || !errors.Is(err, tt.err) {
			t.Errorf("%s: %g, %v; want %g, %v", tt.row, got, err, tt.want, tt.err)
		}
	}
}

func TestReferenceResolutions(t *testing.T) {
	rows := reference(t)
	for _, id := range []string{"sensors-S018", "sensors-S019", "sensors-S020"} {
		cfg := octets(t, rows[id])[0]
		text, _, _ := strings.Cut(rows[id]["expected"], ";")
		want, err := strconv.Atoi(text)
		if err != nil {
			t.Fatal(err)
		}
		bits, err := full(t, []byte{0x91, 0x01, 0x4b, 0x46, cfg, 0xff, 0x0c, 0x10}).check(ds18b20)
		if err != nil || bits != want || config(bits) != cfg {
			t.Errorf("%s: configuration %02x is %d bits, %v, and back %02x; want %d", id, cfg, bits, err, config(bits), want)
		}
	}
	// sensors-S021: at 9 bits the three lowest bits are undefined; 10 and 11 bits by the same rule.
	for _, tt := range []struct {
		bits int
		want float64
	}{{9, -10.5}, {10, -10.25}, {11, -10.125}, {12, -10.0625}} {
		got, err := decode(ds18b20, full(t, []byte{0x5f, 0xff, 0x4b, 0x46, config(tt.bits), 0xff, 0x0c, 0x10}))
		if err != nil || got != tt.want {
			t.Errorf("ff5f at %d bits is %g, %v; want %g", tt.bits, got, err, tt.want)
		}
	}
}

// The older chip: the words are those of table 1 of the DS18S20 data sheet, from memory; its
// counter adds −0.25 + (16 − counter)/16 to the whole degrees.
func TestOlderChip(t *testing.T) {
	tests := []struct {
		name   string
		lsb    byte
		msb    byte
		remain byte
		want   float64
	}{
		{"+85.0 with another counter than the power-on one", 0xaa, 0x00, 0x04, 85.5},
		{"+25.0 with the counter at a quarter", 0x32, 0x00, 0x0c, 25},
		{"+25.0 with the counter near its end", 0x32, 0x00, 0x01, 25.6875},
		{"+0.5, whose half degree is cut", 0x01, 0x00, 0x0c, 0},
		{"-0.5 is cut downwards", 0xff, 0xff, 0x0c, -1},
		{"-25.0", 0xce, 0xff, 0x0c, -25},
		{"-55.0 with a full counter", 0x92, 0xff, 0x10, -55.25},
		{"+125.0 with an empty counter", 0xfa, 0x00, 0x00, 125.75},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := decode(ds18s20, full(t, []byte{tt.lsb, tt.msb, 0x4b, 0x46, 0xff, 0xff, tt.remain, 0x10}))
			if err != nil || got != tt.want {
				t.Errorf("got %g, %v; want %g", got, err, tt.want)
			}
		})
	}
	for name, tt := range map[string]struct {
		b   []byte
		err error
	}{
		"its power-on value":              {[]byte{0xaa, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x0c, 0x10}, device.ErrPowerOn},
		"no counts in a degree":           {[]byte{0x32, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x0c, 0x00}, device.ErrFormat},
		"no counts at all":                {[]byte{0x32, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x00, 0x00}, device.ErrFormat},
		"more counts left than there are": {[]byte{0x32, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x11, 0x10}, device.ErrFormat},
		"hotter than it can be":           {[]byte{0xfc, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x0c, 0x10}, device.ErrFormat},
	} {
		if got, err := decode(ds18s20, full(t, tt.b)); !errors.Is(err, tt.err) {
			t.Errorf("%s: %g, %v; want %v", name, got, err, tt.err)
		}
	}
}

func TestScratchpadRefuses(t *testing.T) {
	tests := []struct {
		name string
		b    []byte
		err  error
	}{
		{"nothing on the wire", []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}, device.ErrAbsent},
		{"a configuration that cannot be, low bits", []byte{0x91, 0x01, 0x4b, 0x46, 0x60, 0xff, 0x0c, 0x10}, device.ErrFormat},
		{"a configuration that cannot be, high bit", []byte{0x91, 0x01, 0x4b, 0x46, 0xff, 0xff, 0x0c, 0x10}, device.ErrFormat},
		{"just over 125 °C", []byte{0xd1, 0x07, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10}, device.ErrFormat},
		{"just under -55 °C", []byte{0x8f, 0xfc, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10}, device.ErrFormat},
		{"85 °C behind undefined bits", []byte{0x57, 0x05, 0x4b, 0x46, 0x1f, 0xff, 0x0c, 0x10}, device.ErrPowerOn},
		{"a frame that lost its last bytes", []byte{0x91, 0x01, 0x4b, 0x46, 0x7f, 0xff, 0xff, 0xff, 0xff}, device.ErrCRC},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got, err := decode(ds18b20, full(t, tt.b)); !errors.Is(err, tt.err) {
				t.Errorf("got %g, %v; want %v", got, err, tt.err)
			}
		})
	}
}

func TestOneWrongBitIsNeverATemperature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.Int16Range(-55*16, 125*16).Draw(t, "raw")
		bits := rapid.IntRange(9, 12).Draw(t, "bits")
		b := []byte{byte(raw), byte(uint16(raw) >> 8), 0x4b, 0x46, config(bits), 0xff, 0x0c, 0x10}
		var s scratchpad
		copy(s[:], append(b, onewire.CalcCRC(b)))
		s[rapid.IntRange(0, 8).Draw(t, "byte")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		if got, err := decode(ds18b20, s); !errors.Is(err, device.ErrCRC) {
			t.Fatalf("% x reads %g, %v; want ErrCRC", s[:], got, err)
		}
	})
}

func FuzzScratchpad(f *testing.F) {
	for id, row := range reference(f) {
		if strings.HasPrefix(row["inputs"], "bytes=") && len(octets(f, row)) >= 8 && strings.Contains(row["quantity"]+id, "DS18B20") {
			b := octets(f, row)
			f.Add(byte(ds18b20), append(b[:8:8], onewire.CalcCRC(b[:8])))
		}
	}
	f.Add(byte(ds18s20), []byte{0xaa, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x0c, 0x10, 0x87})
	f.Add(byte(ds18s20), []byte{0x32, 0x00, 0x4b, 0x46, 0xff, 0xff, 0x0c, 0x00, 0x00})
	f.Fuzz(func(t *testing.T, family byte, b []byte) {
		var s scratchpad
		copy(s[:], b)
		s[8] = onewire.CalcCRC(s[:8]) // or hardly anything would come past the checksum
		got, err := decode(family, s)
		if err != nil {
			if got != 0 || len(err.Error()) > 200 {
				t.Errorf("% x: %g with %v", s[:], got, err)
			}
			return
		}
		if math.IsNaN(got) || got < -55.25 || got > 125.75 || got == 85 {
			t.Errorf("% x reads %g", s[:], got)
		}
		if family != ds18s20 {
			if back := int16(math.Floor(got * 16)); uint16(back)&0xfff8 != (uint16(s[1])<<8|uint16(s[0]))&0xfff8 {
				t.Errorf("% x reads %g, which is %04x", s[:], got, uint16(back))
			}
		}
	})
}
