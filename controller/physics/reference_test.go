package physics

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// row is one line of a reference table: what is expected of a quantity at the given inputs.
type row struct {
	id, quantity, expected, unit, tolerance string
	in                                      map[string]float64
	text                                    map[string]string
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
		r := row{l[0], l[1], l[3], l[4], l[5], map[string]float64{}, map[string]string{}}
		for pair := range strings.SplitSeq(l[2], ";") {
			name, text, _ := strings.Cut(pair, "=")
			r.text[name] = text
			// "Fo=a t/L2=0.05" names its formula before its value.
			value := text[strings.LastIndex(text, "=")+1:]
			if v, err := strconv.ParseFloat(value, 64); err == nil {
				r.in[name] = v
			}
		}
		rows = append(rows, r)
	}
	return rows
}

// walk checks every row of a table: answer gives what physics says, one number for each the row
// holds, or nothing, and may set another of the tolerances that the row states; whyNot names the
// rows, by number, that are about something else, and why. A row in neither, or in both, is a fault.
func walk(t *testing.T, name string, answer func(r *row) []float64, whyNot map[string]string) {
	t.Helper()
	unchecked := map[string]bool{}
	for why, numbers := range whyNot {
		for _, number := range span(t, numbers) {
			if unchecked[number] {
				t.Errorf("row S%s is left out twice, the second time because: %s", number, why)
			}
			unchecked[number] = true
		}
	}
	for _, r := range table(t, name) {
		_, number, _ := strings.Cut(r.id, "-S")
		got := answer(&r)
		switch {
		case len(got) == 0 && !unchecked[number]:
			t.Errorf("%s: nothing answers %q at %v", r.id, r.quantity, r.text)
		case len(got) > 0 && unchecked[number]:
			t.Errorf("%s: %q is answered but left out", r.id, r.quantity)
		case len(got) > 0:
			r.check(t, got...)
		}
	}
}

// span reads "001 to 004, 017" as the four numbers and the one.
func span(t *testing.T, text string) (all []string) {
	t.Helper()
	for part := range strings.SplitSeq(text, ", ") {
		from, to, several := strings.Cut(part, " to ")
		if !several {
			to = from
		}
		first, err := strconv.Atoi(from)
		if err != nil {
			t.Fatal(err)
		}
		last, err := strconv.Atoi(to)
		if err != nil || len(from) != 3 || len(to) != 3 || last < first {
			t.Fatalf("rows %q are not understood", part)
		}
		for n := first; n <= last; n++ {
			all = append(all, fmt.Sprintf("%03d", n))
		}
	}
	if !slices.IsSorted(all) {
		t.Fatalf("rows %q are out of order", text)
	}
	return all
}

var separator = regexp.MustCompile(`; | / |, `)

// check compares got with the row within its own tolerance, the widest where it names several.
func (r row) check(t *testing.T, got ...float64) {
	t.Helper()
	if low, high, ok := strings.Cut(r.expected, " to "); ok {
		r.checkRange(t, low, high, got)
		return
	}
	fields := separator.Split(r.expected, -1)
	if len(fields) != len(got) {
		t.Fatalf("%s: %d numbers given for %q", r.id, len(got), r.expected)
	}
	for i, field := range fields {
		want, err := strconv.ParseFloat(field, 64)
		if err != nil {
			t.Fatalf("%s: expected %q is no number", r.id, field)
		}
		if within := r.within(t, want); !(math.Abs(got[i]-want) <= within) {
			t.Errorf("%s: %s at %v is %.7g, want %.7g ± %.2g %s", r.id, r.quantity, r.text, got[i], want, within, r.unit)
		}
	}
}

// checkRange asks that got lies within the range, or that its ends are the range's where got is two.
func (r row) checkRange(t *testing.T, low, high string, got []float64) {
	t.Helper()
	from, errFrom := strconv.ParseFloat(low, 64)
	to, errTo := strconv.ParseFloat(high, 64)
	if errFrom != nil || errTo != nil || !strings.HasPrefix(r.tolerance, "range") {
		t.Fatalf("%s: range %q is not understood", r.id, r.expected)
	}
	beyond := 1e-9
	if _, share, ok := strings.Cut(r.tolerance, "range beyond "); ok {
		var err error
		if beyond, err = strconv.ParseFloat(share, 64); err != nil {
			t.Fatalf("%s: tolerance %q is not understood", r.id, r.tolerance)
		}
	}
	for _, v := range got {
		if !(v >= from*(1-beyond) && v <= to*(1+beyond)) {
			t.Errorf("%s: %s at %v is %.4g, want %s %s", r.id, r.quantity, r.text, v, r.expected, r.unit)
		}
	}
}

func (r row) within(t *testing.T, want float64) float64 {
	t.Helper()
	if r.tolerance == "exact" {
		return 1e-9 * math.Abs(want)
	}
	words := strings.Fields(r.tolerance)
	var widest float64
	for i := 0; i+1 < len(words); i++ {
		if strings.HasPrefix(words[i], "(") {
			break // what follows is for other formulas
		}
		v, err := strconv.ParseFloat(strings.Trim(words[i+1], ";"), 64)
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
