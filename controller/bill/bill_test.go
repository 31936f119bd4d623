package bill_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/bill"
	"loambank/controller/tariff"
)

var now = time.Date(2026, time.December, 1, 0, 0, 0, 0, time.UTC)

func TestBillsAreReadAsTheyAreTyped(t *testing.T) {
	for _, tt := range []struct {
		text string
		want bill.Meter
		err  string
	}{
		{"2026-11-01..2026-11-30 412 kWh", bill.Meter{First: "2026-11-01", Last: "2026-11-30", KWh: 412}, ""},
		{" 2026-11-30..2026-11-30 1.5 kWh ", bill.Meter{First: "2026-11-30", Last: "2026-11-30", KWh: 1.5}, ""},
		{"2026-11-01..2026-12-01 412 kWh", bill.Meter{}, "2026-12-01 has not ended yet"},
		{"2026-11-30..2026-11-01 412 kWh", bill.Meter{}, "write the first day first"},
		{"2025-01-01..2026-11-01 412 kWh", bill.Meter{}, "more than 400 days"},
		{"2025-10-27..2026-11-30 412 kWh", bill.Meter{First: "2025-10-27", Last: "2026-11-30", KWh: 412}, ""}, // 400, counted with both
		{"2025-10-26..2026-11-30 412 kWh", bill.Meter{}, "more than 400 days"},
		{"2026-11-01 412 kWh", bill.Meter{}, "is no meter's bill"},
		{"2026-11-01..2026-11-30", bill.Meter{}, "is no meter's bill"},
		{"2026-11-31..2026-11-30 412 kWh", bill.Meter{}, `"2026-11-31" is no day`},
		{"2026-11-01..2026-11-31 412 kWh", bill.Meter{}, `"2026-11-31" is no day`},
		{"2026-11-01..2026-11-30 412", bill.Meter{}, "kWh"},
		{"2026-11-01..2026-11-30 412 gal", bill.Meter{}, "kWh"},
		{"2026-11-01..2026-11-30 0 kWh", bill.Meter{}, "no electricity of a farm"},
		{"2026-11-01..2026-11-30 -3 kWh", bill.Meter{}, "no electricity of a farm"},
	} {
		got, err := bill.ParseMeter(tt.text, now)
		if (err == nil) != (tt.err == "") || err != nil && !strings.Contains(err.Error(), tt.err) {
			t.Errorf("%q: %v, want an error with %q", tt.text, err, tt.err)
		}
		if err == nil && got != tt.want {
			t.Errorf("%q is read as %+v, want %+v", tt.text, got, tt.want)
		}
	}
}

func TestFillsAreReadAsTheyAreTyped(t *testing.T) {
	for _, tt := range []struct {
		text string
		want bill.Fill
		err  string
	}{
		{"2026-11-14 83 gal", bill.Fill{Day: "2026-11-14", Amount: 83, Per: "gal"}, ""},
		{"2026-12-01 310.5 L", bill.Fill{Day: "2026-12-01", Amount: 310.5, Per: "L"}, ""},
		{"2026-12-02 83 gal", bill.Fill{}, "still to come"},
		{"2026-11-14 83 cord", bill.Fill{}, "propane is not sold per \"cord\""},
		{"2026-11-14 83", bill.Fill{}, "is no fill"},
		{"2026-11-14 much gal", bill.Fill{}, "is no amount of fuel"},
		{"2026-11-14 0 gal", bill.Fill{}, "is no amount of fuel"},
		{"2026-11-14 Inf gal", bill.Fill{}, "is no amount of fuel"},
		{"2026-11-14 1000001 gal", bill.Fill{}, "is no amount of fuel"},
		{"14.11.2026 83 gal", bill.Fill{}, "is no day"},
	} {
		got, err := bill.ParseFill(tt.text, tariff.Propane, now)
		if (err == nil) != (tt.err == "") || err != nil && !strings.Contains(err.Error(), tt.err) {
			t.Errorf("%q: %v, want an error with %q", tt.text, err, tt.err)
		}
		if err == nil && got != tt.want {
			t.Errorf("%q is read as %+v, want %+v", tt.text, got, tt.want)
		}
	}
}

// TestABillIsOfItsOwnDays, also over a change of the clocks.
func TestABillIsOfItsOwnDays(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Skip(err)
	}
	from, to := bill.Meter{First: "2026-11-01", Last: "2026-11-01"}.Span(zone) // the clocks go back
	if got := to.Sub(from); got != 25*time.Hour || from.Format(time.DateTime) != "2026-11-01 00:00:00" {
		t.Errorf("it is %v long, from %v", got, from)
	}
	if at := (bill.Fill{Day: "2026-11-14"}).At(zone); at.Format(time.DateTime) != "2026-11-14 12:00:00" {
		t.Errorf("the fill is at %v", at)
	}
}

// TestBillAndAccountSideBySide at, under and over where they cannot both be right.
func TestBillAndAccountSideBySide(t *testing.T) {
	for _, tt := range []struct {
		d    bill.Draw
		want bill.Doubt
	}{
		{bill.Draw{MeterKWh: 412, FansKWh: 96}, bill.NoDoubt},
		{bill.Draw{MeterKWh: 100, FansKWh: 102}, bill.NoDoubt}, // the meter errs by 2 %
		{bill.Draw{MeterKWh: 100, FansKWh: 102.1}, bill.OverMeter},
	} {
		if got := tt.d.Doubt(); got != tt.want {
			t.Errorf("%+v: %v, want %v", tt.d, got, tt.want)
		}
	}
	if got := (bill.Draw{MeterKWh: 412, FansKWh: 103}).Share(); got != 0.25 {
		t.Errorf("the fans are %v of the meter, want a quarter", got)
	}
	fill := bill.Fill{Day: "2026-11-14", Amount: 100, Per: "gal"}
	burned := func(onS, outputW float64) bill.Burn {
		t.Helper()
		b, err := bill.Burned(fill, tariff.Propane, 0.8, onS, outputW, 1)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	// greenhouse-S075: 21.41365 kWh of useful heat a gallon at 80 %.
	if b := burned(-1, 0); math.Abs(b.FuelKWh-2141.365) > 2141*0.001 || b.Seen || b.Doubt() != bill.NoDoubt {
		t.Errorf("without a heater-on probe: %+v, %v", b, b.Doubt())
	}
	if b := burned(3600, 0); b.Seen {
		t.Errorf("without an output: %+v", b)
	}
	for _, tt := range []struct {
		hours float64 // at 10 kW
		want  bill.Doubt
	}{
		{194, bill.OverFuel}, // 1940 kWh and 10 % are 2134
		{195, bill.NoDoubt},  // 2145
		{214, bill.NoDoubt},
		{267, bill.NoDoubt},   // 2141 and 25 % are 2676
		{268, bill.UnderFuel}, // 2680
		{0, bill.OverFuel},
	} {
		b := burned(tt.hours*3600, 10e3)
		if math.Abs(b.HeaterKWh-10*tt.hours) > 1e-6 || b.Doubt() != tt.want {
			t.Errorf("%v h: %+v, %v; want %v", tt.hours, b, b.Doubt(), tt.want)
		}
	}
	if b, err := bill.Burned(fill, tariff.Propane, 0.8, 3600, 10e3, bill.WholeShare); err != nil || b.Doubt() != bill.OverFuel {
		t.Errorf("where the account knows just enough, more fuel is not doubted: %+v, %v", b, err)
	}
	if b, err := bill.Burned(fill, tariff.Propane, 0.8, 3600, 10e3, 0.97); err != nil || b.Doubt() != bill.NoDoubt {
		t.Errorf("where the account misses days, more fuel is doubted: %+v, %v", b, err)
	}
	if b, err := bill.Burned(fill, tariff.Propane, 0.8, 268*3600, 10e3, 0.5); err != nil || b.Doubt() != bill.UnderFuel {
		t.Errorf("a heater that was on for longer in half the time is not doubted: %+v, %v", b, err)
	}
	if _, err := bill.Burned(bill.Fill{Per: "cord"}, tariff.Propane, 0.8, 0, 0, 1); err == nil {
		t.Error("propane in cords is burned")
	}
	for d := bill.OverMeter; d <= bill.UnderFuel; d++ {
		if !strings.Contains(d.String(), "Look ") || bill.NoDoubt.String() != "" {
			t.Errorf("doubt %d says %q, and none %q", d, d, bill.NoDoubt)
		}
	}
}

// TestBillsAreKeptByTheirDays, each once.
func TestBillsAreKeptByTheirDays(t *testing.T) {
	dir := t.TempDir()
	b, err := bill.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	oct, nov := bill.Meter{First: "2026-10-01", Last: "2026-10-31", KWh: 300}, bill.Meter{First: "2026-11-01", Last: "2026-11-30", KWh: 412}
	b.AddMeter(nov)
	b.AddMeter(bill.Meter{First: oct.First, Last: oct.Last, KWh: 3000})
	b.AddMeter(oct) // typed again, right
	own := bill.Meter{House: "lower", First: oct.First, Last: oct.Last, KWh: 100}
	b.AddMeter(own)
	one, two := bill.Fill{House: "lower", Day: "2026-11-01", Amount: 40, Per: "gal"}, bill.Fill{House: "lower", Day: "2026-11-14", Amount: 83, Per: "gal"}
	other := bill.Fill{House: "upper", Day: "2026-11-10", Amount: 9, Per: "gal"}
	b.AddFill(two)
	b.AddFill(bill.Fill{House: "lower", Day: "2026-11-01", Amount: 4, Per: "gal"})
	b.AddFill(one)
	b.AddFill(other)
	if err := b.Save(dir); err != nil {
		t.Fatal(err)
	}
	b, err = bill.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	want := &bill.Book{Schema: 1, Meters: []bill.Meter{oct, nov, own}, Fills: []bill.Fill{one, two, other}}
	if diff := cmp.Diff(want, b); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if was, found := b.Before(two); !found || was != one {
		t.Errorf("before the second fill is %+v, %v", was, found)
	}
	for _, f := range []bill.Fill{one, other} {
		if was, found := b.Before(f); found {
			t.Errorf("before the first fill is %+v", was)
		}
	}
	if err := (&bill.Book{}).Save(dir); err == nil {
		t.Error("a book of no schema is kept")
	}
	for text, want := range map[string]string{
		`{"schema":2}`: "schema 2", `{`: "unexpected end", `{"schema":1,"meters":[{"first":"2026-11-09","last":"2026-11-01","kwh":1}]}`: "cannot be",
		`{"schema":1,"meters":[{"first":"2026-11-01","last":"2026-11-09","kwh":0}]}`: "cannot be",
		`{"schema":1,"fills":[{"day":"2026-11-09","amount":0}]}`:                     "cannot be",
	} {
		if err := os.WriteFile(filepath.Join(dir, "bills.json"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := bill.Load(dir); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

func FuzzParseMeter(f *testing.F) {
	f.Add("2026-11-01..2026-11-30 412 kWh")
	f.Add("..  kWh")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := bill.ParseMeter(text, now)
		if err != nil {
			return
		}
		if from, to := m.Span(time.UTC); !(m.KWh > 0) || !from.Before(to) || to.After(now) {
			t.Errorf("%q is read as %+v", text, m)
		}
	})
}
