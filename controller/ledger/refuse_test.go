package ledger_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"loambank/controller/ledger"
)

// newer is a sound file of a schema that does not exist yet.
func newer() []byte {
	const front, payload = "loambank-ledger schema=7 length=14", "{\"new\":\"form\"}"
	return fmt.Appendf(nil, "%s sha256=%x\n%s", front, sha256.Sum256([]byte(front+payload)), payload)
}

// TestEveryTornFileFallsBack cuts a small file short at every length and damages every byte in
// three ways: never is it taken for good, and the previous one is used, or none.
func TestEveryTornFileFallsBack(t *testing.T) {
	dir := t.TempDir()
	f, _, _ := open(t, dir)
	small := func(n int64) ledger.Checkpoint {
		return ledger.Checkpoint{Unix: n, Houses: []ledger.Entry{{Account: ledger.House{Name: "lower", FuelMoney: 1.5}}}}
	}
	save(t, f, small(1))
	save(t, f, small(2))
	sound := contents(t, dir, "ledger")
	check := func(what string, at int, data []byte, from string, unix int64) {
		t.Helper()
		put(t, dir, "ledger", data)
		c, notes, err := ledger.Load(dir)
		if err != nil || notes.From != from || c.Unix != unix || len(notes.Refused) == 0 || notes.Refused[0].File != "ledger" {
			t.Fatalf("%s byte %d: checkpoint %d, %+v, %v", what, at, c.Unix, notes, err)
		}
	}
	for _, from := range []string{"ledger.previous", ""} {
		unix := int64(1)
		if from == "" {
			put(t, dir, "ledger.previous", sound[:len(sound)/2])
			unix = 0
		}
		for at := range sound {
			check("cut at", at, sound[:at], from, unix)
			for _, flip := range []byte{0x01, 0x20, 0xff} {
				torn := bytes.Clone(sound)
				torn[at] ^= flip
				check("damaged in", at, torn, from, unix)
			}
		}
	}
	put(t, dir, "ledger", sound)
	if c, _, err := ledger.Load(dir); err != nil || c.Unix != 2 {
		t.Errorf("the sound one is %+v, %v", c, err)
	}
}

func TestBadFilesAreKeptAside(t *testing.T) {
	torn := []byte("loambank-ledger schema=1 le")
	tests := []struct {
		name              string
		current, previous []byte // nil: as checkpoints 1 and 2 left it
		remove            string
		n                 int // checkpoint that is used
		from              string
		files             string
		foreign           bool
	}{
		{
			name: "a bad one: the previous is used", current: torn, n: 1, from: "ledger.previous",
			files: "ledger.bad-20261125T101500Z ledger.previous",
		},
		{
			name: "an empty one, as a power cut leaves it", current: []byte{}, n: 1, from: "ledger.previous",
			files: "ledger.bad-20261125T101500Z ledger.previous",
		},
		{
			name: "both bad: counters start at zero", current: torn, previous: torn[:9], n: 0, from: "",
			files: "ledger.bad-20261125T101500Z ledger.bad-20261125T101500Z-2",
		},
		{
			name: "a bad previous one is not asked while the last is good", previous: torn, n: 2, from: "ledger",
			files: "ledger ledger.previous",
		},
		{name: "no last one", remove: "ledger", n: 1, from: "ledger.previous", files: "ledger.previous"},
		{
			name: "no previous one and the last bad", current: torn, remove: "ledger.previous", n: 0, from: "",
			files: "ledger.bad-20261125T101500Z",
		},
		{
			name: "a newer schema is kept for the program that wrote it", current: newer(), n: 1, from: "ledger.previous",
			files: "ledger.previous ledger.schema-20261125T101500Z", foreign: true,
		},
		{
			name: "both newer", current: newer(), previous: newer(), n: 0, from: "",
			files: "ledger.schema-20261125T101500Z ledger.schema-20261125T101500Z-2", foreign: true,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := seq(t, 2)
			if tt.current != nil {
				put(t, dir, "ledger", tt.current)
			}
			if tt.previous != nil {
				if err := os.Remove(filepath.Join(dir, "ledger.previous")); err != nil {
					t.Fatal(err)
				}
				put(t, dir, "ledger.previous", tt.previous)
			}
			if tt.remove != "" {
				if err := os.Remove(filepath.Join(dir, tt.remove)); err != nil {
					t.Fatal(err)
				}
			}
			before := list(t, dir)
			if _, notes, err := ledger.Load(dir); err != nil || notes.From != tt.from || list(t, dir) != before {
				t.Errorf("looking alone: %+v, %v, then %q", notes, err, list(t, dir))
			}
			f, c, notes := open(t, dir)
			wants(t, c, tt.n)
			if notes.From != tt.from || list(t, dir) != tt.files {
				t.Errorf("from %q, files %q; want %q, %q", notes.From, list(t, dir), tt.from, tt.files)
			}
			for _, r := range notes.Refused {
				was := map[string][]byte{"ledger": tt.current, "ledger.previous": tt.previous}[r.File]
				if r.Err == nil || errors.Is(r.Err, ledger.ErrSchema) != tt.foreign || !strings.Contains(r.Err.Error(), r.File) {
					t.Errorf("refused %+v", r)
				}
				if got := contents(t, dir, r.KeptAs); !bytes.Equal(got, was) {
					t.Errorf("%s holds %q, want what was in %s", r.KeptAs, got, r.File)
				}
			}
			// From here on it is a ledger like any other.
			if tt.previous == nil || tt.from != "ledger" {
				save(t, f, stand(5))
			} else if refused, err := f.Save(stand(5)); err != nil || len(refused) != 1 || refused[0].File != "ledger.previous" {
				t.Errorf("saving over a bad previous one: %+v, %v", refused, err)
			}
			_, c, _ = open(t, dir)
			wants(t, c, 5)
		})
	}
}

// TestDamageWhileRunning: a bad file never takes the place of the good one before it.
func TestDamageWhileRunning(t *testing.T) {
	dir := seq(t, 2)
	f, _, _ := open(t, dir)
	put(t, dir, "ledger", []byte("edited by hand"))
	refused, err := f.Save(stand(3))
	if err != nil || len(refused) != 1 || refused[0].File != "ledger" || refused[0].KeptAs != "ledger.bad-20261125T101503Z" {
		t.Fatalf("refused %+v, %v", refused, err)
	}
	_, c, _ := open(t, dir)
	wants(t, c, 3)
	put(t, dir, "ledger", nil)
	_, c, notes := open(t, dir)
	wants(t, c, 1)
	if notes.From != "ledger.previous" {
		t.Errorf("from %q", notes.From)
	}
}

// TestFewAreKept damages the ledger again and again, at times that go back too.
func TestFewAreKept(t *testing.T) {
	dir := seq(t, 2)
	put(t, dir, "ledger.schema-20200101T000000Z", newer())
	for k := range 12 {
		now := fair.Add(time.Duration(k) * time.Hour)
		if k == 11 {
			now = time.Unix(0, 0)
		}
		damage := fmt.Appendf(nil, "damage %d", k)
		put(t, dir, "ledger", damage)
		_, _, notes, err := ledger.Open(dir, now)
		if err != nil || len(notes.Refused) != 1 {
			t.Fatalf("%+v, %v", notes, err)
		}
		if got := contents(t, dir, notes.Refused[0].KeptAs); !bytes.Equal(got, damage) {
			t.Fatalf("%s holds %q", notes.Refused[0].KeptAs, got)
		}
	}
	const want = "ledger.bad-19700101T000000Z ledger.bad-20261125T171500Z ledger.bad-20261125T181500Z " +
		"ledger.bad-20261125T191500Z ledger.bad-20261125T201500Z ledger.previous ledger.schema-20200101T000000Z"
	if got := list(t, dir); got != want {
		t.Errorf("kept %q, want %q", got, want)
	}
}

// TestADirectoryInTheLedgersPlace is moved aside like any other thing that is no ledger.
func TestADirectoryInTheLedgersPlace(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "ledger"), 0o755); err != nil {
		t.Fatal(err)
	}
	f, c, notes := open(t, dir)
	wants(t, c, 0)
	if len(notes.Refused) != 1 {
		t.Errorf("notes %+v", notes)
	}
	save(t, f, stand(1))
}
