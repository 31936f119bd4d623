package shelf_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/commission"
	"loambank/controller/commission/shelf"
)

var autumn = time.Date(2026, time.September, 10, 9, 0, 0, 0, time.UTC)

func round(house string, begun time.Time, whole bool) *commission.Baseline {
	b := &commission.Baseline{Schema: 1, House: house, Begun: begun, By: "anna"}
	if whole {
		b.Finished = begun.Add(time.Hour)
	}
	return b
}

// TestTheNewestRoundCounts among those of several houses, some of them not complete.
func TestTheNewestRoundCounts(t *testing.T) {
	year := func(n int) time.Time { return autumn.AddDate(n, 0, 0) }
	tests := []struct {
		name         string
		kept         []*commission.Baseline
		whole, begun *commission.Baseline
	}{
		{"none", nil, nil, nil},
		{"another house's", []*commission.Baseline{round("upper", year(0), true), round("lower west", year(0), true), round("..", year(0), true)}, nil, nil},
		{"the newest of two", []*commission.Baseline{round("lower", year(1), true), round("lower", year(0), true)}, round("lower", year(1), true), nil},
		{"one that goes on", []*commission.Baseline{round("lower", year(0), true), round("lower", year(1), false)}, round("lower", year(0), true), round("lower", year(1), false)},
		{"one that was left and done anew", []*commission.Baseline{round("lower", year(0), false), round("lower", year(1), true)}, round("lower", year(1), true), nil},
		{"the first that goes on", []*commission.Baseline{round("lower", year(0), false)}, nil, round("lower", year(0), false)},
		{"one that was gone on with", []*commission.Baseline{round("lower", year(0), false), round("lower", year(0), true)}, round("lower", year(0), true), nil},
	}
	for _, tt := range tests {
		dir := t.TempDir()
		for _, b := range tt.kept {
			if err := shelf.Save(dir, b); err != nil {
				t.Fatal(err)
			}
		}
		whole, begun, err := shelf.Newest(dir, "lower")
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
		}
		if diff := cmp.Diff(tt.whole, whole); diff != "" {
			t.Errorf("%s: the complete one (-want +got):\n%s", tt.name, diff)
		}
		if diff := cmp.Diff(tt.begun, begun); diff != "" {
			t.Errorf("%s: the one that goes on (-want +got):\n%s", tt.name, diff)
		}
	}
}

// TestWhatIsDamagedIsPassedOver and named.
func TestWhatIsDamagedIsPassedOver(t *testing.T) {
	dir := t.TempDir()
	if err := shelf.Save(dir, round("lower", autumn, true)); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"lower@20270910T090000Z.json": `{"schema":1,"house":"lower","begun":"2027`,
		"lower@20280910T090000Z.json": `{"schema":2,"house":"lower","begun":"2028-09-10T09:00:00Z"}`,
		"lower@20290910T090000Z.json": `{"schema":1,"house":"upper","begun":"2029-09-10T09:00:00Z"}`,
		"lower@20300910T090000Z.json": strings.Repeat(" ", 1<<20+1),
	} {
		if err := os.WriteFile(filepath.Join(dir, "commission", name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	whole, begun, err := shelf.Newest(dir, "lower")
	if whole == nil || begun != nil || !whole.Begun.Equal(autumn) {
		t.Errorf("found %+v and %+v, want the one that can be read", whole, begun)
	}
	for _, part := range []string{"20270910", "unexpected end", "schema 2", "of house upper, not of lower", "too many"} {
		if err == nil || !strings.Contains(err.Error(), part) {
			t.Errorf("the error is %v, want %q in it", err, part)
		}
	}
	if err := shelf.Save(dir, &commission.Baseline{Schema: 1}); err == nil {
		t.Error("a baseline of no house is kept")
	}
}
