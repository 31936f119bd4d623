package history_test

import (
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/ledger"
)

// TestHoursOutliveStoresThatAreGone has an account that still counts more stores than a house may have:
// its hours are kept with the counters of those that there are.
func TestHoursOutliveStoresThatAreGone(t *testing.T) {
	dir := t.TempDir()
	db := open(t, dir)
	f := farmOf(t, db, "lower")
	account := f.houses[0].account
	for _, name := range []string{"one", "two", "three", "four", "five"} {
		account.Stores = append(account.Stores, ledger.Store{Name: name, In: ledger.Heat{SensibleKWh: 1e6}})
	}
	began := f.now
	f.run(2*time.Hour + time.Minute)
	flush(t, db)
	r := reader(t, dir)
	totals, err := r.TotalsBefore("lower", f.now)
	if err != nil || totals == nil {
		t.Fatalf("no counters can be read: %v", err)
	}
	want := history.TotalsOf(account)
	if len(totals.Stores) != 2 || totals.Stores[0].Name != want.Stores[0].Name || totals.Stores[1].Name != want.Stores[1].Name || totals.Stores[0].RunS == 0 {
		t.Errorf("the counters are %+v, the account has %+v", totals, want)
	}
	all(t, r.Samples("lower", began, f.now))
	if n := r.Damaged(); n != 0 {
		t.Errorf("%d rows count as damaged", n)
	}
}
