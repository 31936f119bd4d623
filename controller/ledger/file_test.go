package ledger_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"loambank/controller/decide"
	"loambank/controller/ledger"
)

// fair is when the tests open their ledgers.
var fair = time.Date(2026, time.November, 25, 10, 15, 0, 0, time.UTC)

// stand is a checkpoint of two houses whose fan has run n hours.
func stand(n int) ledger.Checkpoint {
	c := ledger.Checkpoint{Unix: fair.Unix() + int64(n), Believed: true}
	for _, name := range []string{"lower", "upper"} {
		h := ledger.New(name, two())
		d := does(0, decide.Charge, 1, 1)
		d.Stores[0].HeatW, d.Stores[0].LatentW, d.Stores[0].CondensateKgS = 3000, 400, 1e-4
		for range n {
			h.Add(two(), unseen, d, hour)
		}
		c.Houses = append(c.Houses, ledger.Entry{Account: *h, State: json.RawMessage(`{"Smoke":false}`)})
	}
	return c
}

func open(t rapid.TB, dir string) (*ledger.File, *ledger.Checkpoint, ledger.Notes) {
	t.Helper()
	f, c, notes, err := ledger.Open(dir, fair)
	if err != nil {
		t.Fatal(err)
	}
	return f, c, notes
}

func save(t rapid.TB, f *ledger.File, c ledger.Checkpoint) {
	t.Helper()
	if refused, err := f.Save(c); err != nil || refused != nil {
		t.Fatalf("refused %v, %v", refused, err)
	}
}

// wants compares a checkpoint with stand(n); 0 is the zero checkpoint.
func wants(t rapid.TB, c *ledger.Checkpoint, n int) {
	t.Helper()
	want := ledger.Checkpoint{}
	if n > 0 {
		want = stand(n)
	}
	if diff := cmp.Diff(&want, c); diff != "" {
		t.Fatalf("checkpoint %d (-want +got):\n%s", n, diff)
	}
}

// list is the names in a directory.
func list(t rapid.TB, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return strings.Join(names, " ")
}

func contents(t rapid.TB, dir, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func put(t rapid.TB, dir, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// seq is a directory in which checkpoints 1 to n were saved.
func seq(t testing.TB, n int) string {
	t.Helper()
	dir := t.TempDir()
	f, _, _ := open(t, dir)
	for k := range n {
		save(t, f, stand(k+1))
	}
	return dir
}

func TestTwoGenerations(t *testing.T) {
	dir := t.TempDir()
	f, c, notes := open(t, dir)
	wants(t, c, 0)
	if diff := cmp.Diff(ledger.Notes{}, notes); diff != "" {
		t.Errorf("notes of a new directory (-want +got):\n%s", diff)
	}
	for n, files := range []string{"", "ledger", "ledger ledger.previous", "ledger ledger.previous", "ledger ledger.previous"} {
		if n == 0 {
			continue
		}
		save(t, f, stand(n))
		if got := list(t, dir); got != files {
			t.Fatalf("after %d checkpoints there is %q, want %q", n, got, files)
		}
		_, c, notes = open(t, dir)
		wants(t, c, n)
		if notes.From != "ledger" || notes.Refused != nil {
			t.Errorf("notes are %+v", notes)
		}
		if n > 1 {
			other := t.TempDir()
			put(t, other, "ledger", contents(t, dir, "ledger.previous"))
			_, c, _ = open(t, other)
			wants(t, c, n-1)
		}
	}
	info, err := os.Stat(filepath.Join(dir, "ledger"))
	if err != nil || info.Mode().Perm() != 0o644 {
		t.Errorf("mode %v, %v; want one that reports can read", info.Mode(), err)
	}
}

// TestFileOfSchema1 reads a file kept from the day this schema was made. If it fails, an activity
// or a field has moved: raise the schema and read the old one too.
func TestFileOfSchema1(t *testing.T) {
	c, notes, err := ledger.Load("testdata/schema1")
	if err != nil || notes.From != "ledger" {
		t.Fatalf("%+v, %v", notes, err)
	}
	want := ledger.Checkpoint{Unix: 1795601700, Believed: true, Houses: []ledger.Entry{
		{Account: *booked(two()), State: json.RawMessage(`{"Smoke":true}`)},
	}}
	if diff := cmp.Diff(&want, c); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	// In words, as they stood then: RunS counts up in the order of these activities.
	for k, word := range []string{"rest", "hold", "hand", "frost", "fallback", "action", "discharge", "charge", "dry"} {
		var a decide.Activity
		if err := a.UnmarshalText([]byte(word)); err != nil {
			t.Fatal(err)
		}
		run := c.Houses[0].Account.Stores[0].Fans[0].RunS
		if run[a] != run[0]+float64(k) {
			t.Errorf("%s: the fan ran %v s, want %v", word, run[a], run[0]+float64(k))
		}
	}
}

func TestGoneHouseStaysInTheFile(t *testing.T) {
	dir := seq(t, 2)
	f, _, _ := open(t, dir)
	c := stand(3)
	upper := c.Houses[1]
	c.Houses = c.Houses[:1]
	save(t, f, c)
	want := []ledger.Entry{stand(3).Houses[0], {Account: stand(2).Houses[1].Account}} // the gone one stands behind
	_, saved, _ := open(t, dir)
	if diff := cmp.Diff(want, saved.Houses); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	save(t, f, c)
	_, saved, _ = open(t, dir)
	if diff := cmp.Diff(want[1], saved.Houses[1]); diff != "" {
		t.Errorf("the gone house a checkpoint later (-want +got):\n%s", diff)
	}
	c.Houses = append(c.Houses, upper)
	save(t, f, c)
	_, back, _ := open(t, dir)
	wants(t, back, 3)
}

// TestSavedCheckpointIsTheFilesOwn goes on booking into accounts that were handed over, of houses
// that then are gone.
func TestSavedCheckpointIsTheFilesOwn(t *testing.T) {
	dir := t.TempDir()
	f, _, _ := open(t, dir)
	c := stand(1)
	save(t, f, c)
	c.Houses[0].Account.Stores[0].Fans[0].Starts, c.Houses[0].State[1] = 99, '!'
	save(t, f, ledger.Checkpoint{Unix: c.Unix + 1})
	_, got, _ := open(t, dir)
	if diff := cmp.Diff(stand(1).Houses[0].Account, got.Houses[0].Account); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestWhatCannotBeWrittenLeavesTheLastCheckpoint(t *testing.T) {
	dir := seq(t, 2)
	f, _, _ := open(t, dir)
	notNumber, notJSON, huge := stand(3), stand(3), stand(3)
	notNumber.Houses[0].Account.FuelMoney = math.NaN()
	notJSON.Houses[0].State = json.RawMessage(`{`)
	huge.Houses[0].State = json.RawMessage(`"` + strings.Repeat("x", 17<<20) + `"`)
	for name, c := range map[string]ledger.Checkpoint{"no number": notNumber, "a state that is no JSON": notJSON, "too long": huge} {
		if _, err := f.Save(c); err == nil || !strings.HasPrefix(err.Error(), "ledger: ") {
			t.Errorf("%s: got %v", name, err)
		}
		_, c, _ := open(t, dir)
		wants(t, c, 2)
	}
	if got := list(t, dir); got != "ledger ledger.previous" {
		t.Errorf("left behind: %q", got)
	}
	save(t, f, stand(3))
}

func TestDirectoryThatIsNotThere(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "none")
	if _, _, _, err := ledger.Open(missing, fair); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("got %v", err)
	}
	put(t, filepath.Dir(missing), "none", nil)
	if _, _, _, err := ledger.Open(missing, fair); err == nil {
		t.Error("a file was taken for a directory")
	}
}

func TestTimeDown(t *testing.T) {
	c := ledger.Checkpoint{Unix: fair.Unix(), Believed: true}
	tests := []struct {
		name     string
		then     bool
		now      time.Time
		believed bool
		downS    float64
		counts   bool
	}{
		{"believed then and now", true, fair.Add(90 * time.Second), true, 90, true},
		{"at once", true, fair, true, 0, true},
		{"not believed then", false, fair.Add(time.Hour), true, 0, false},
		{"not believed now", true, fair.Add(time.Hour), false, 0, false},
		{"a clock set back", true, fair.Add(-time.Second), true, 0, false},
	}
	for _, tt := range tests {
		c.Believed = tt.then
		if downS, counts := c.DownS(tt.now, tt.believed); downS != tt.downS || counts != tt.counts {
			t.Errorf("%s: %v s, counts %v; want %v, %v", tt.name, downS, counts, tt.downS, tt.counts)
		}
	}
	if _, counts := new(ledger.Checkpoint).DownS(fair, true); counts {
		t.Error("a farm that never ran was down")
	}
}
