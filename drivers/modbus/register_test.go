package modbus

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"loambank/drivers/device"
)

func TestWordsOfEachType(t *testing.T) {
	for _, c := range []struct {
		r    Register
		v    float64
		w    []uint16
		name string
	}{
		{Register{}, 65535, []uint16{0xffff}, "the largest"},
		{Register{Type: Int16}, -1, []uint16{0xffff}, "two's complement"},
		{Register{Type: Uint32}, 0x12345678, []uint16{0x1234, 0x5678}, "the high word first"},
		{Register{Type: Uint32, LowFirst: true}, 0x12345678, []uint16{0x5678, 0x1234}, "the low word first"},
		{Register{Type: Int32}, -2, []uint16{0xffff, 0xfffe}, "a long two's complement"},
		{Register{Type: Float32}, -118.625, []uint16{0xc2ed, 0x4000}, "IEEE 754 single: 1 10000101 11011010100000000000000"},
	} {
		if w, err := c.r.Encode(c.v); err != nil || len(w) != len(c.w) || w[0] != c.w[0] || w[len(w)-1] != c.w[len(w)-1] {
			t.Errorf("%s: %#x, %v; want %#x", c.name, w, err, c.w)
		}
		if v, err := c.r.Decode(c.w); err != nil || v != c.v {
			t.Errorf("%s: %v, %v; want %v", c.name, v, err, c.v)
		}
	}
	for _, w := range [][]uint16{{0x7fc0, 0}, {0x7f80, 0}, {1}, {1, 2, 3}, nil} {
		if v, err := (Register{Type: Float32}).Decode(w); !errors.Is(err, device.ErrFormat) {
			t.Errorf("%#x: %v, %v; want ErrFormat", w, v, err)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), -1, 65536, 0.5} {
		if w, err := (Register{}).Encode(v); err == nil {
			t.Errorf("%v is encoded as %#x", v, w)
		}
	}
}

func TestWhatIsEncodedIsDecoded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Register{Type: Type(rapid.IntRange(0, 4).Draw(t, "type")), LowFirst: rapid.Bool().Draw(t, "low first")}
		v := float64(rapid.Int32().Draw(t, "value"))
		if r.Type == Float32 {
			v = float64(float32(v))
		}
		words, err := r.Encode(v)
		if err != nil {
			return // it does not fit
		}
		if got, err := r.Decode(words); err != nil || got != v {
			t.Fatalf("%v as %v: %#x is %v, %v", v, r.Type, words, got, err)
		}
	})
}

func TestLinks(t *testing.T) {
	for text, want := range map[string]Link{
		"tcp://192.0.2.7":                                {At: "192.0.2.7:502"},
		"tcp://[2001:db8::7]:1502":                       {At: "[2001:db8::7]:1502"},
		"rtu:///dev/ttyUSB0":                             {Serial: true, At: "/dev/ttyUSB0", Speed: 19200, Parity: "even", StopBits: 1},
		"rtu:///dev/a?parity=none":                       {Serial: true, At: "/dev/a", Speed: 19200, Parity: "none", StopBits: 2},
		"rtu:///dev/a?speed=9600&stop_bits=2&parity=odd": {Serial: true, At: "/dev/a", Speed: 9600, Parity: "odd", StopBits: 2},
	} {
		if l, err := ParseLink(text); err != nil || l != want {
			t.Errorf("%s: %+v, %v; want %+v", text, l, err, want)
		}
	}
	for _, text := range []string{
		"", "192.0.2.7:502", "tcp://", "tcp://h:0", "tcp://h:65536", "tcp://h/x", "tcp://u@h", "tcp://h?speed=9600",
		"rtu://dev/ttyUSB0", "rtu:///", "rtu:///dev/a?speed=9601", "rtu:///dev/a?parity=mark", "rtu:///dev/a?stop_bits=3",
		"rtu:///dev/a?baud=9600", "rtu:///dev/a?speed=9600&speed=1200", "udp://h:1", "tcp://%zz", "rtu:///dev/a?speed=%zz",
	} {
		if l, err := ParseLink(text); err == nil {
			t.Errorf("%q is taken for %+v", text, l)
		}
	}
}

func FuzzParseRegister(f *testing.F) {
	for _, s := range []string{"holding 100", "coil 0", "input 65535", "discrete 65536", "holding", "holding -1", "holding +1", " coil  7 "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRegister(text)
		if err != nil {
			return
		}
		if again, err := ParseRegister(r.String()); err != nil || again != r {
			t.Errorf("%q is %v, which is %v, %v", text, r, again, err)
		}
	})
}

func FuzzParseLink(f *testing.F) {
	f.Add("tcp://192.0.2.7:502")
	f.Add("rtu:///dev/ttyUSB0?speed=9600&parity=none&stop_bits=1")
	f.Fuzz(func(t *testing.T, text string) {
		if l, err := ParseLink(text); err == nil && (l.At == "" || l.Serial && (l.Speed == 0 || l.StopBits == 0)) {
			t.Errorf("%q is %+v", text, l)
		}
	})
}
