package size

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// row is a line of the reference table of money.
type row struct {
	id, quantity string
	in           map[string]float64
	want         []float64
}

func rows(t *testing.T) (all []row) {
	t.Helper()
	f, err := os.Open("../../../testdata/reference/money_and_pv.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines[1:] {
		r := row{id: l[0], quantity: l[1], in: map[string]float64{}}
		for pair := range strings.SplitSeq(l[2], ";") {
			name, text, _ := strings.Cut(pair, "=")
			if v, err := strconv.ParseFloat(text, 64); err == nil {
				r.in[name] = v
			}
		}
		for text := range strings.SplitSeq(l[3], ";") {
			if v, err := strconv.ParseFloat(strings.TrimSpace(text), 64); err == nil {
				r.want = append(r.want, v)
			}
		}
		all = append(all, r)
	}
	return all
}

// money_and_pv-S001 to S040: published capital recovery factors, and payback, present value and
// annual cost by definition.
func TestMoneyAgreesWithTheTables(t *testing.T) {
	checked := 0
	for _, r := range rows(t) {
		var got, tolerance float64
		var err error
		switch {
		case strings.HasPrefix(r.quantity, "capital recovery factor"):
			got, tolerance = recoveryFactor(r.in["rate_pct"]/100, r.in["years"]), 1e-5
		case r.quantity == "simple payback":
			got, err = Payback(r.in["cost"], r.in["saving_per_year"])
			tolerance = 1e-3 * r.want[0]
		case strings.HasPrefix(r.quantity, "NPV"):
			got, tolerance = PresentValue(r.in["cost"], r.in["saving_per_year"], r.in["rate"], r.in["years"]), 0.05
		case r.quantity == "annualised cost (CRF)":
			got, tolerance = r.in["cost"]*recoveryFactor(r.in["rate"], r.in["years"]), 0.01
		case r.quantity == "IRR": // the interest at which it is worth nothing
			low := PresentValue(r.in["cost"], r.in["saving_per_year"], r.want[0]+1e-4, r.in["years"])
			high := PresentValue(r.in["cost"], r.in["saving_per_year"], max(0, r.want[0]-1e-4), r.in["years"])
			if checked++; !(low < 0 && high >= 0) {
				t.Errorf("%s: at that interest it is worth %v to %v", r.id, low, high)
			}
			continue
		default:
			continue
		}
		if checked++; err != nil || !(math.Abs(got-r.want[0]) <= tolerance) {
			t.Errorf("%s: %s is %v, %v; want %v", r.id, r.quantity, got, err, r.want[0])
		}
	}
	if checked != 40 {
		t.Errorf("%d rows were checked", checked)
	}
}

// money_and_pv-S041: what is paid back in 5 years earns 15.1 % in 10 years and 19.4 % in 20 (Masters, from the
// row).
func TestPaybackAndLifeMakeTheInterest(t *testing.T) {
	r := rowOf(t, "money_and_pv-S041")
	for i, years := range []float64{10, 20} {
		if v := PresentValue(r.in["cost"], r.in["saving"], r.want[i], years); math.Abs(v) > 0.01*r.in["cost"] {
			t.Errorf("over %v years at %v it is worth %v", years, r.want[i], v)
		}
	}
	if years, err := Payback(r.in["cost"], r.in["saving"]); err != nil || years != 5 {
		t.Errorf("paid back in %v years, %v", years, err)
	}
}

func rowOf(t *testing.T, id string) row {
	t.Helper()
	for _, r := range rows(t) {
		if r.id == id {
			return r
		}
	}
	t.Fatalf("there is no row %s", id)
	return row{}
}

func TestWhatSavesNothingNeverPays(t *testing.T) {
	for _, saving := range []float64{0, -10, math.NaN()} {
		if years, err := Payback(1000, saving); !errors.Is(err, ErrNeverPays) {
			t.Errorf("%v a year: %v years, %v", saving, years, err)
		}
	}
}

func TestPresentValueFallsWithInterestAndCost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cost, saving := rapid.Float64Range(0, 1e5).Draw(t, "cost"), rapid.Float64Range(1, 1e4).Draw(t, "saving")
		rate, years := rapid.Float64Range(0.001, 0.2).Draw(t, "rate"), rapid.Float64Range(1, 40).Draw(t, "years")
		v := PresentValue(cost, saving, rate, years)
		if v >= PresentValue(cost, saving, 0, years) || v <= PresentValue(cost+1, saving, rate, years) || v >= PresentValue(cost, saving, rate, years+1) {
			t.Fatalf("cost %v, saving %v, rate %v, years %v: worth %v", cost, saving, rate, years, v)
		}
	})
}

func TestTheKneeIsWhereMoreCostsMuchMore(t *testing.T) {
	for _, c := range []struct {
		name          string
		cost, benefit []float64
		want          int
	}{
		{"most at the second step", []float64{0, 1, 2, 10}, []float64{0, 8, 9, 10}, 1},
		{"later where the second step brings as much again", []float64{0, 1, 2, 10}, []float64{0, 4, 9, 10}, 2},
		{"later by a little", []float64{0, 1, 2, 10}, []float64{0, 6, 8, 10}, 2},
		{"a straight line has none", []float64{0, 1, 2, 3}, []float64{0, 1, 2, 3}, 0},
		{"nor has one that pays only at the end", []float64{0, 1, 2, 3}, []float64{0, 0.1, 0.2, 3}, 0},
		{"nor equal benefits", []float64{0, 1, 2}, []float64{4, 4, 4}, 0},
		{"nor two steps", []float64{0, 1}, []float64{0, 5}, 0},
		{"steps that fall again at the end", []float64{0, 1, 2, 3}, []float64{0, 2, 5, 1}, 2},
	} {
		if got := knee(c.cost, c.benefit); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}
