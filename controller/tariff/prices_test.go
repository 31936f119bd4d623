package tariff

import (
	"math"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/controller/season"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func span(t testing.TB, dates, hours, days string) (s season.Span) {
	t.Helper()
	var errs [3]error
	if dates != "" {
		s.Dates, errs[0] = season.ParseDates(dates)
	}
	if hours != "" {
		s.Hours, errs[1] = season.ParseHours(hours)
	}
	if days != "" {
		s.Days, errs[2] = season.ParseDays(days)
	}
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func newYork(t testing.TB) season.Site {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return season.Site{LatitudeDeg: 43.1, LongitudeDeg: -75.2, Zone: zone}
}

func farm(t testing.TB) Settings {
	s := Settings{
		Site: newYork(t), Currency: "USD",
		ElectricityPerKWh: 0.17, HasElectricity: true,
		Periods: []Period{
			{"winter evening", span(t, "11-01..02-29", "16:00..21:00", "Mon..Fri"), 0.35},
			{"evening", span(t, "", "16:00..21:00", "Mon..Fri"), 0.29},
			{"night", span(t, "", "22:00..06:00", ""), 0.09},
		},
		FuelHeatPerKWh: 0.13, HasFuel: true,
		HasStored: true,
	}
	for m := range s.Shares {
		s.Shares[m] = float64(m+1) / 12
		s.StoredPerKWh[m] = s.Shares[m] * StoredWorthShare * s.FuelHeatPerKWh
	}
	return s
}

func TestPricesAtATime(t *testing.T) {
	s := farm(t)
	for _, c := range []struct {
		name, at string
		price    float64
		period   int8
		until    string
	}{
		{"base price by day", "2026-01-09 12:00", 0.17, -1, "2026-01-09 16:00"},
		{"the first listed period wins", "2026-01-09 16:00", 0.35, 0, "2026-01-09 21:00"},
		{"the second where the first does not cover", "2026-10-09 16:00", 0.29, 1, "2026-10-09 21:00"},
		{"base price between periods", "2026-01-09 21:00", 0.17, -1, "2026-01-09 22:00"},
		{"night before midnight", "2026-01-09 22:00", 0.09, 2, "2026-01-10 00:00"},
		{"night after midnight", "2026-01-10 00:00", 0.09, 2, "2026-01-10 06:00"},
		{"no evening on Saturday", "2026-01-10 17:00", 0.17, -1, "2026-01-10 22:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			at := local(t, c.at)
			got, until := At(s, at)
			month := at.Month()
			want := Prices{
				ElectricityPerKWh: c.price, FuelHeatPerKWh: 0.13, StoredPerKWh: s.StoredPerKWh[month-1],
				StoredShare: s.Shares[month-1], HasElectricity: true, HasFuel: true, HasStored: true, Period: c.period,
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Error(diff)
			}
			if want := local(t, c.until); !until.Equal(want) {
				t.Errorf("until %s, want %s", until, want)
			}
		})
	}
}

func local(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", text, newYork(t).Zone)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestTheMonthIsTheSitesOwn(t *testing.T) {
	s := farm(t)
	// Still 31 January at the site.
	got, until := At(s, time.Date(2026, 2, 1, 4, 59, 0, 0, time.UTC))
	if got.StoredShare != 1.0/12 || !until.Equal(local(t, "2026-02-01 00:00")) {
		t.Errorf("share %v until %s", got.StoredShare, until)
	}
	if got, _ = At(s, until); got.StoredShare != 2.0/12 {
		t.Errorf("share in February %v", got.StoredShare)
	}
}

func TestWhatIsNotKnownIsMissingAndZero(t *testing.T) {
	s := farm(t)
	s.HasElectricity, s.HasFuel, s.HasStored = false, false, false
	got, until := At(s, local(t, "2026-01-09 17:00"))
	if diff := cmp.Diff(Prices{StoredShare: 1.0 / 12, Period: -1}, got); diff != "" {
		t.Error(diff)
	}
	if !until.Equal(local(t, "2026-01-10 00:00")) {
		t.Errorf("until %s", until)
	}
	if got := cost(s, local(t, "2026-01-09 17:00"), until, 400); got != 0 {
		t.Errorf("cost %v", got)
	}
}

func TestBasePricesAskNoClock(t *testing.T) {
	s := farm(t)
	want := Prices{
		ElectricityPerKWh: 0.17, FuelHeatPerKWh: 0.13, StoredPerKWh: s.StoredPerKWh[9], StoredShare: 10.0 / 12,
		HasElectricity: true, HasFuel: true, HasStored: true, Period: -1,
	}
	if diff := cmp.Diff(want, Base(s, time.October)); diff != "" {
		t.Error(diff)
	}
	for month := time.January; month <= time.December; month++ {
		if got := Base(s, month); !got.HasStored || got.StoredShare != s.Shares[month-1] {
			t.Errorf("%s: %+v", month, got)
		}
	}
	for _, month := range []time.Month{0, 13, -1} {
		if got := Base(s, month); got.HasStored || got.StoredPerKWh != 0 || got.StoredShare != 0 || !got.HasElectricity {
			t.Errorf("month %d: %+v", month, got)
		}
	}
}

func TestCostIsSplitAtTariffEdges(t *testing.T) {
	// money_and_pv-S044
	s := Settings{
		Site: newYork(t), ElectricityPerKWh: 0.12, HasElectricity: true,
		Periods: []Period{{"peak", span(t, "", "16:00..19:00", ""), 0.30}},
	}
	if got := cost(s, local(t, "2026-01-09 15:20"), local(t, "2026-01-09 19:50"), 400); math.Abs(got-0.432) > 1e-9 {
		t.Errorf("money_and_pv-S044: got %v, want 0.432", got)
	}
	// The same under way an hour earlier on the clock, in summer time.
	if got := cost(s, local(t, "2026-07-09 15:20"), local(t, "2026-07-09 19:50"), 400); math.Abs(got-0.432) > 1e-9 {
		t.Errorf("in July: got %v, want 0.432", got)
	}
	if got := cost(s, local(t, "2026-01-09 19:50"), local(t, "2026-01-09 15:20"), 400); got != 0 {
		t.Errorf("backwards: %v", got)
	}
}

func TestCostOfADayByTimeOfUse(t *testing.T) {
	for _, c := range []struct {
		id            string
		offKWh, off   float64
		midKWh, mid   float64
		peakKWh, peak float64
		want          float64
	}{
		{"money_and_pv-S042", 2.1, 0.08, 1.4, 0.14, 0.7, 0.24, 0.532},
		{"money_and_pv-S043", 4.2, 0.07, 2, 0.12, 0.5, 0.22, 0.644},
	} {
		s := Settings{
			Site: newYork(t), ElectricityPerKWh: c.off, HasElectricity: true,
			Periods: []Period{
				{"peak", span(t, "", "17:00..20:00", ""), c.peak},
				{"mid", span(t, "", "07:00..22:00", ""), c.mid},
			},
		}
		// Nine hours off peak, then mid with the three of peak inside; the fan's power differs.
		got := cost(s, local(t, "2026-01-09 22:00"), local(t, "2026-01-10 07:00"), c.offKWh/9*1000) +
			cost(s, local(t, "2026-01-10 07:00"), local(t, "2026-01-10 17:00"), c.midKWh/12*1000) +
			cost(s, local(t, "2026-01-10 17:00"), local(t, "2026-01-10 20:00"), c.peakKWh/3*1000) +
			cost(s, local(t, "2026-01-10 20:00"), local(t, "2026-01-10 22:00"), c.midKWh/12*1000)
		if math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: got %v, want %v", c.id, got, c.want)
		}
	}
}

func TestCostOverAClockChangeCountsHoursThatPass(t *testing.T) {
	s := farm(t)
	s.Periods = []Period{{"night", span(t, "", "00:00..06:00", ""), 0.09}}
	for _, c := range []struct {
		name, from, to string
		want           float64 // 1 kW
	}{
		{"the short day", "2026-03-08 00:00", "2026-03-09 00:00", 5*0.09 + 18*0.17},
		{"the long day", "2026-11-01 00:00", "2026-11-02 00:00", 7*0.09 + 18*0.17},
	} {
		if got := cost(s, local(t, c.from), local(t, c.to), 1000); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

func TestCostAddsUp(t *testing.T) {
	s := farm(t)
	rapid.Check(t, func(t *rapid.T) {
		start := time.Unix(rapid.Int64Range(1767225600, 1861920000).Draw(t, "start"), 0)
		first := time.Duration(rapid.IntRange(0, 3*86400).Draw(t, "first")) * time.Second
		second := time.Duration(rapid.IntRange(0, 3*86400).Draw(t, "second")) * time.Second
		whole := cost(s, start, start.Add(first+second), 400)
		parts := cost(s, start, start.Add(first), 400) + cost(s, start.Add(first), start.Add(first+second), 400)
		if math.Abs(whole-parts) > 1e-9 {
			t.Fatalf("%v whole, %v in parts", whole, parts)
		}
		kWh := 0.4 * (first + second).Hours()
		if whole < 0.09*kWh-1e-9 || whole > 0.35*kWh+1e-9 {
			t.Fatalf("%v for %v kWh", whole, kWh)
		}
		prices, until := At(s, start)
		end, _ := At(s, until.Add(-1))
		if !until.After(start) || end != prices {
			t.Fatalf("%+v at %s, %+v just before %s", prices, start, end, until)
		}
	})
}

func TestAskingForPricesAllocatesNothing(t *testing.T) {
	s := farm(t)
	now := local(t, "2026-01-09 17:00")
	if n := testing.AllocsPerRun(100, func() { At(s, now) }); n != 0 {
		t.Errorf("At allocates %v times", n)
	}
	if n := testing.AllocsPerRun(100, func() { cost(s, now, now.Add(10*time.Second), 400) }); n != 0 {
		t.Errorf("Cost allocates %v times", n)
	}
}

// cost is what powerW of electricity costs from one time to the other, currency, each stretch
// at its own price; 0 where no price is known or to is not after from.
func cost(s Settings, from, to time.Time, powerW float64) float64 {
	if !s.HasElectricity {
		return 0
	}
	sum := 0.0
	for from.Before(to) {
		prices, until := At(s, from)
		if until.After(to) {
			until = to
		}
		sum += powerW / 1000 * until.Sub(from).Hours() * prices.ElectricityPerKWh
		from = until
	}
	return sum
}
