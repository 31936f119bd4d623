package physics

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// row is one line of a reference table: what is expected of a quantity at the given inputs.
type row struct {
	id, quantity, expected, unit, tolerance string
	in                                      map[string]float64
}

func table(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, l := range lines[1:] {
		r := row{l[0], l[1], l[3], l[4], l[5], map[string]float64{}}
		for pair := range strings.SplitSeq(l[2], ";") {
			name, text, _ := strings.Cut(pair, "=")
			if v, err := strconv.ParseFloat(text, 64); err == nil {
				r.in[name] = v
			}
		}
		rows = append(rows, r)
	}
	return rows
}

// check compares got with the row within its own tolerance, the widest where it names several.
func (r row) check(t *testing.T, got float64) {
	t.Helper()
	want, err := strconv.ParseFloat(r.expected, 64)
	if err != nil {
		t.Fatalf("%s: expected %q is no number", r.id, r.expected)
	}
	if within := r.within(t, want); !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %s at %v is %.7g, want %.7g ± %.2g %s", r.id, r.quantity, r.in, got, want, within, r.unit)
	}
}

func (r row) within(t *testing.T, want float64) float64 {
	t.Helper()
	words := strings.Fields(r.tolerance)
	var widest float64
	for i := 0; i+1 < len(words); i++ {
		if strings.HasPrefix(words[i], "(") {
			break // what follows is for other formulas
		}
		v, err := strconv.ParseFloat(words[i+1], 64)
		switch {
		case err != nil:
		case words[i] == "rel":
			widest = max(widest, v*math.Abs(want))
		case words[i] == "abs":
			widest = max(widest, v)
		}
	}
	if widest == 0 {
		t.Fatalf("%s: tolerance %q is not understood", r.id, r.tolerance)
	}
	return widest
}
