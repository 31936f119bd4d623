package tune

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/season"
)

// farm reads settings of testdata/config.
func farm(t testing.TB, name string) *config.Settings {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "config", name))
	if err != nil {
		t.Fatal(err)
	}
	s, err := config.Parse(name, text, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestTodayIsTodaysSettings(t *testing.T) {
	s := farm(t, "example.toml")
	sp := NewSpace(s, &s.Houses[0])
	h, ok := sp.House(sp.Today())
	if !ok {
		t.Fatal("today's settings are refused")
	}
	if diff := cmp.Diff(s.Houses[0].House, h.House, exported()); diff != "" {
		t.Error(diff)
	}
	if got := sp.Snippet(sp.Today()); !strings.HasPrefix(got, "# nothing") {
		t.Errorf("to paste: %s", got)
	}
}

// exported compares settings; dates and hours by their text.
func exported() cmp.Option {
	return cmp.Options{
		cmp.Comparer(func(a, b season.Span) bool {
			return a.Dates.String() == b.Dates.String() && a.Hours == b.Hours && a.Days == b.Days
		}),
		cmp.Comparer(func(a, b season.Dates) bool { return a.String() == b.String() }),
		cmp.Comparer(func(a, b unit.Celsius) bool { return math.Abs(float64(a-b)) < 1e-9 }),
		cmp.Comparer(func(a, b unit.Kelvin) bool { return math.Abs(float64(a-b)) < 1e-9 }),
		cmpopts.IgnoreFields(season.Site{}, "Zone"), cmpopts.EquateApprox(0, 1e-9), cmpopts.EquateEmpty(),
		cmpopts.IgnoreFields(season.Settings{}, "Actions"), // nothing turns them
	}
}

// paste writes a snippet over the keys of a settings file, as a grower would.
func paste(t *rapid.T, file, snippet string) string {
	lines, at := strings.Split(file, "\n"), 0
	for _, l := range strings.Split(strings.TrimSpace(snippet), "\n") {
		key, value, isKey := strings.Cut(l, " = ")
		if table, name, _ := strings.Cut(l, " # "); !isKey {
			at = find(t, lines, table, name)
		} else {
			lines = set(lines, at, key, value)
		}
	}
	return strings.Join(lines, "\n")
}

// find is the line of the table that has a name; one without is found by its header alone.
func find(t *rapid.T, lines []string, table, name string) int {
	at := -1
	for i, l := range lines {
		l = strings.TrimSpace(l)
		if strings.HasPrefix(l, table) {
			at = i
		}
		if at >= 0 && (name == "" || strings.HasPrefix(l, "name ") && strings.Contains(l, `"`+name+`"`)) {
			return at
		}
	}
	t.Fatalf("no table %s # %s", table, name)
	return 0
}

// set sets a key of the table that begins at a line.
func set(lines []string, at int, key, value string) []string {
	for i := at + 1; i < len(lines); i++ {
		trimmed := strings.TrimSpace(lines[i])
		if strings.HasPrefix(trimmed, key+" ") {
			lines[i] = key + " = " + value
			return lines
		}
		if strings.HasPrefix(trimmed, "[") {
			break
		}
	}
	return slices.Insert(lines, at+1, key+" = "+value)
}

// What is tried must be what is advised: the snippet of any point, written over the settings, is
// read as the very settings that lived through the years.
func TestASnippetIsReadAsWhatWasTried(t *testing.T) {
	s := farm(t, "example.toml")
	sp := NewSpace(s, &s.Houses[0])
	// The season stands on one line of the file; here it is a table, which a key can be set in.
	file := strings.Replace(string(s.Source), "season = {", "[season]", 1)
	file = strings.Replace(file, `"09-10", first_frost = "10-05", last_frost = "05-12" }`, "\"09-10\"\nfirst_frost = \"10-05\"\nlast_frost = \"05-12\"", 1)
	file = strings.Replace(file, "[season] topping", "[season]\ntopping", 1)
	_, shape := sp.Shape()
	_, months := sp.Months(sp.Today())
	rapid.Check(t, func(t *rapid.T) {
		p := sp.Today()
		for i := range p {
			if sp.knobs[i].reach == 0 || rapid.Bool().Draw(t, "leave") {
				continue
			}
			box := shape
			if sp.knobs[i].month {
				box = months
			}
			p[i] = rapid.IntRange(box.Lo[i], box.Hi[i]).Draw(t, "steps")
			if sp.knobs[i].month {
				p[i] = max(0, p[i])
			}
		}
		h, ok := sp.House(p)
		if !ok {
			return
		}
		text := paste(t, file, sp.Snippet(p))
		again, err := config.Parse("pasted", []byte(text), nil)
		if err != nil {
			t.Fatalf("%v\n%s", err, sp.Snippet(p))
		}
		want := h.House
		want.Decide.Tariff.Shares = again.Houses[0].House.Decide.Tariff.Shares // means nothing with worths stated
		if diff := cmp.Diff(want, again.Houses[0].House, exported()); diff != "" {
			t.Fatalf("%s\n%s", diff, sp.Snippet(p))
		}
	})
}
