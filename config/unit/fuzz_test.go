package unit

import (
	"errors"
	"math"
	"testing"
)

// checked fails where a parser gives a value that is none, or an error that helps nobody.
func checked(t *testing.T, text string, v float64, err error) {
	if err != nil {
		if e, ok := errors.AsType[*Error](err); !ok || e.What == "" || e.Remedy == "" {
			t.Errorf("%q: %#v does not help", text, err)
		}
		return
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		t.Errorf("%q is %v", text, v)
	}
}

func seeds(f *testing.F) {
	for _, s := range []string{
		"", " ", "65", "65 °F", "65F", "18 °C", "−5 °C", "6 K", "3,5 °C", "1e9 °C", ".", "-", "+.5 K",
		"2h30m", "2 h 10 min", "1 day", "600 W", "1.2 kW", "60 kBtu/h", "800 cfm", "1500 m³/h", "18 in", "80 %", "350 W/K",
		"0.16 $/kWh", "$0.16/kWh", "€/kWh", "/", "$", "\xff\xfe", "999999999999999999999999999999999999999999 °F",
	} {
		f.Add(s)
	}
}

func FuzzTemperature(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		c, err := ParseTemperature(text)
		checked(t, text, float64(c), err)
		if err == nil && (c < coldest || c > hottest) {
			t.Errorf("%q is %v", text, c)
		}
	})
}

func FuzzDifference(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ParseDifference(text)
		checked(t, text, float64(d), err)
	})
}

func FuzzDuration(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseDuration(text)
		checked(t, text, s, err)
		if s < 0 || s > maxDurationS {
			t.Errorf("%q is %v s", text, s)
		}
	})
}

func FuzzAmounts(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		understood := 0
		for _, parse := range []func(string) (float64, error){
			ParsePower, ParseFlow, ParseLength, ParseArea, ParseConductance, ParseShare, ParseHeatRate,
		} {
			v, err := parse(text)
			checked(t, text, v, err)
			if err == nil {
				understood++
			}
		}
		if understood > 2 { // watts are a power and a heat rate; nothing else is two things
			t.Errorf("%q is %d kinds of quantity", text, understood)
		}
	})
}

func FuzzPrice(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ParsePrice(text)
		checked(t, text, p.Amount, err)
		if err == nil && (p.Currency == "" || p.Per == "") {
			t.Errorf("%q is %+v", text, p)
		}
	})
}
