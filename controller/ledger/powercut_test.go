package ledger_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/ledger"
)

// TestThePowerFailsWhileSaving makes every directory that a power cut can leave while the third
// checkpoint is on its way. Its content is synced before any name changes, so that a name shows it
// whole; the names are synced last, so that each may be the old or the new one, in any order, and
// what has a passing name may be torn at any page.
func TestThePowerFailsWhileSaving(t *testing.T) {
	first, second, third := contents(t, seq(t, 1), "ledger"), contents(t, seq(t, 2), "ledger"), contents(t, seq(t, 3), "ledger")
	var passing [][]byte // what the new file holds while it is written; nil is that it is not there
	passing = append(passing, nil, []byte{}, third)
	for _, page := range []int{512, 4096} {
		for at := 0; at < len(third); at += page {
			holed := append([]byte(nil), third...)
			clear(holed[at:min(at+page, len(third))])
			passing = append(passing, holed, third[:at])
		}
	}
	type names struct{ current, previous, link []byte }
	states := []names{
		{second, first, nil},
		{second, first, second},
		{second, second, nil},
		{second, second, second},
		{third, first, nil},
		{third, first, second},
		{third, second, nil},
		{third, second, second},
	}
	n := 0
	for _, s := range states {
		for _, new := range passing {
			n++
			dir := t.TempDir()
			for name, data := range map[string][]byte{"ledger": s.current, "ledger.previous": s.previous, ".ledger.link": s.link, ".ledger4711": new} {
				if data != nil {
					put(t, dir, name, data)
				}
			}
			want := 2
			if cmp.Equal(s.current, third) {
				want = 3
			}
			f, c, notes := open(t, dir)
			wants(t, c, want)
			if diff := cmp.Diff(ledger.Notes{From: "ledger"}, notes); diff != "" {
				t.Errorf("state %d: notes (-want +got):\n%s", n, diff)
			}
			save(t, f, stand(4))
			if got := list(t, dir); got != "ledger ledger.previous" {
				t.Errorf("state %d: left behind: %q", n, got)
			}
			put(t, dir, "ledger", nil)
			_, c, _ = open(t, dir)
			wants(t, c, want)
		}
	}
	if len(third) < 1024 {
		t.Errorf("a checkpoint of %d bytes has no pages to tear", len(third))
	}
}

// TestNothingIsTornThatHasItsName damages each page of the last checkpoint, as a card does that loses
// what it had taken: the one before it is used, and what is torn is kept aside.
func TestNothingIsTornThatHasItsName(t *testing.T) {
	third := contents(t, seq(t, 3), "ledger")
	for _, page := range []int{512, 4096} {
		for at := 0; at < len(third); at += page {
			t.Run(fmt.Sprintf("page of %d bytes at %d", page, at), func(t *testing.T) {
				dir := seq(t, 3)
				torn := append([]byte(nil), third...)
				clear(torn[at:min(at+page, len(third))])
				put(t, dir, "ledger", torn)
				_, c, notes := open(t, dir)
				wants(t, c, 2)
				if len(notes.Refused) != 1 || notes.From != "ledger.previous" {
					t.Fatalf("notes %+v", notes)
				}
				if kept, err := os.ReadFile(filepath.Join(dir, notes.Refused[0].KeptAs)); err != nil || !cmp.Equal(kept, torn) {
					t.Errorf("what is torn is not kept aside as it was: %v", err)
				}
			})
		}
	}
}
