package main

import (
	"strings"
	"testing"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

// Each line stands at its limit and not under it.
func TestWhatToLookAt(t *testing.T) {
	heated := &config.House{}
	heated.House.Decide.Heater.Present = true
	store := func(change func(*report.Store)) *report.House {
		s := report.Store{StoreTotals: history.StoreTotals{Name: "beds", RunS: 1e5, Starts: 20}}
		change(&s)
		return &report.House{Stores: []report.Store{s}}
	}
	for _, c := range []struct {
		name string
		h    *config.House
		r    *report.House
		want string // empty is nothing
	}{
		{"a quiet season", heated, store(func(*report.Store) {}), ""},
		{"frost for an hour", heated, &report.House{FrostS: 3600}, "frost limit for 1.0 h"},
		{"frost for less", heated, &report.House{FrostS: 3599}, ""},
		{"an hour without air", heated, &report.House{BlindS: 3600}, "could not be read for 1.0 h"},
		{"less without air", heated, &report.House{BlindS: 3599}, ""},
		{"four hours off by hand", heated, store(func(s *report.Store) { s.StateS[decide.Hand] = 4 * 3600 }), "kept off by hand for 4.0 h"},
		{"less by hand", heated, store(func(s *report.Store) { s.StateS[decide.Hand] = 4*3600 - 1 }), ""},
		{"an hour held", heated, store(func(s *report.Store) { s.StateS[decide.Hold] = 3600 }), "held the fans of beds off for 1.0 h"},
		{"held for less", heated, store(func(s *report.Store) { s.StateS[decide.Hold] = 3599 }), ""},
		{"short runs", heated, store(func(s *report.Store) { s.RunS = 20*900 - 1 }), "ran only 15 min a start"},
		{"a quarter of an hour", heated, store(func(s *report.Store) { s.RunS = 20 * 900 }), ""},
		{"few short runs", heated, store(func(s *report.Store) { s.Starts, s.RunS = 19, 60 }), ""},
		{"heat stays down", heated, store(func(s *report.Store) { s.In, s.Out = ledger.Heat{SensibleKWh: 101}, ledger.Heat{SensibleKWh: 10} }), "Of 101 kWh that went into beds only 10"},
		{"a tenth comes up", heated, store(func(s *report.Store) { s.In, s.Out = ledger.Heat{SensibleKWh: 110}, ledger.Heat{SensibleKWh: 11} }), ""},
		{"little heat", heated, store(func(s *report.Store) { s.In = ledger.Heat{SensibleKWh: 100} }), ""},
		{"an unheated house", &config.House{}, store(func(s *report.Store) { s.In = ledger.Heat{SensibleKWh: 500} }), ""},
	} {
		got := strings.Join(toLookAt(&config.Settings{}, c.h, c.r), "\n")
		if (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
