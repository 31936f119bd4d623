package whatif_test

import (
	"context"
	"errors"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/plan/tune"
	"loambank/controller/plan/whatif"
)

// TestAWinterIsLivedThroughAgain compares what a winter lived through again comes to with the winter that
// was simulated, under the same settings and under others.
func TestAWinterIsLivedThroughAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("lives through years")
	}
	was, other := farm(t), farm(t, `margin   = "8 °F"`, `margin   = "16 °F"`)
	recorded, first := live(t, was, burlington)
	_, second := live(t, other, burlington)
	w, err := whatif.Learn(was, &was.Houses[0], kept(t, recorded), whatif.Options{})
	if err != nil || w.Lacks != "" {
		t.Fatal(err, w.Lacks)
	}
	var all []uint64
	for i, b := range w.Seen() {
		all = append(all, b)
		if i < len(w.Unseen()) {
			all = append(all, w.Unseen()[i])
		}
	}
	if len(all) != 21 { // of 212 days; the last two are in none
		t.Fatalf("blocks %v and %v", w.Seen(), w.Unseen())
	}
	for i, b := range all {
		if b != uint64(i) {
			t.Fatalf("blocks %v are seen and %v judge, want every other", w.Seen(), w.Unseen())
		}
	}
	told := sum(t, w, &was.Houses[0], all)
	truth := winterOf(first)
	t.Logf("told %+v for 210 days, truth %.2f of electricity, %.2f of fuel, fit %.2f K of %d h (%.2f), %.3f K of %d days (%.3f)", told, truth.Electricity, truth.Fuel,
		w.Fit.Air.RMSK(), w.Fit.Air.N, w.Fit.Air.StayedK(), w.Fit.Soil[0].RMSK(), w.Fit.Soil[0].N, w.Fit.Soil[0].StayedK())
	if cost := truth.Electricity + truth.Fuel; math.Abs(told.Cost-cost) > 0.1*cost {
		t.Errorf("costs %.0f, truth %.0f", told.Cost, cost)
	}
	if f := &w.Fit; f.Air.N < 100 || !(f.Air.RMSK() < f.Air.StayedK()/2) || f.Soil[0].N < 60 || !(f.Soil[0].RMSK() < 0.8*f.Soil[0].StayedK()) {
		t.Errorf("air to %.2f K (stayed: %.2f) in %d h, soil to %.3f K (stayed: %.3f) in %d days",
			f.Air.RMSK(), f.Air.StayedK(), f.Air.N, f.Soil[0].RMSK(), f.Soil[0].StayedK(), f.Soil[0].N)
	}
	gain, err := w.Gain(t.Context(), &other.Houses[0], &was.Houses[0], all, 0)
	if err != nil {
		t.Fatal(err)
	}
	b := winterOf(second)
	saved, times := truth.Electricity+truth.Fuel-b.Electricity-b.Fuel, 210./whatif.PerDays
	t.Logf("saved %.2f, told %.2f ± %.2f", saved, times*gain.Mean, times*gain.Spread)
	if !(math.Abs(times*gain.Mean-saved) <= times*gain.Spread) || gain.Mean == 0 {
		t.Errorf("told %.2f ± %.2f saved, truth %.2f", times*gain.Mean, times*gain.Spread, saved)
	}
}

// sum is all blocks together, not scaled.
func sum(t *testing.T, w *whatif.Winter, h *config.House, blocks []uint64) (all tune.Outcome) {
	t.Helper()
	some, err := w.Live(t.Context(), h, blocks)
	if err != nil {
		t.Fatal(err)
	}
	all.LowC = math.Inf(1)
	for i := range some {
		o := some[i].Times(tune.BlockDays / float64(whatif.PerDays))
		all.Cost += o.Cost
		all.RiskH += o.RiskH
		all.FanH += o.FanH
		all.LowC = min(all.LowC, o.LowC)
	}
	return all
}

// TestWhatARecordingCannotTellIsSaid of the measured tunnel, and of a recording too short to judge by.
func TestWhatARecordingCannotTellIsSaid(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/winter/tunnel.toml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := config.Parse("tunnel.toml", text, nil)
	if err != nil {
		t.Fatal(err)
	}
	w, err := whatif.Learn(s, &s.Houses[0], tunnel(t, s), whatif.Options{Rested: true})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(w.Lacks, "never ran") || len(w.Seen()) < 8 || len(w.Seen())-len(w.Unseen()) > 1 {
		t.Errorf("lacks %q, blocks %v and %v", w.Lacks, w.Seen(), w.Unseen())
	}
	soil := w.Fit.Soil[0]
	t.Logf("soil to %.3f K of %d days, stayed %.3f", soil.RMSK(), soil.N, soil.StayedK())
	if w.Fit.Air.N != 0 || soil.N < 30 || !(soil.RMSK() < 1) {
		t.Errorf("%d h of air foretold though outside is not read; soil to %.2f K of %d days", w.Fit.Air.N, soil.RMSK(), soil.N)
	}
}

// TestAShortRecordingIsNotSearched: it takes four blocks, and air read in half of each.
func TestAShortRecordingIsNotSearched(t *testing.T) {
	if testing.Short() {
		t.Skip("lives through years")
	}
	was := farm(t)
	recorded, _ := live(t, was, burlington)
	begins := recorded.from
	for _, c := range []struct {
		name  string
		days  int
		blind func(day int) bool
		want  string
	}{
		{"35 days are four blocks", 36, nil, ""},
		{"34 days are three", 34, nil, "has 3 blocks of 10 days"},
		{"of 50 days two blocks are hardly read", 50, func(day int) bool { return day >= 10 && day < 26 && day%10 < 6 }, "has 3 blocks of 10 days"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows := *recorded
			rows.next = 0
			rows.rows = nil
			for _, r := range recorded.rows {
				day := int(r.Time.Sub(begins).Hours() / 24)
				if day >= c.days || c.blind != nil && c.blind(day) {
					continue
				}
				rows.rows = append(rows.rows, r)
			}
			w, err := whatif.Learn(was, &was.Houses[0], kept(t, &rows), whatif.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if c.want == "" && strings.Contains(w.Lacks, "blocks") || !strings.Contains(w.Lacks, c.want) {
				t.Errorf("lacks %q, blocks %v and %v, want %q", w.Lacks, w.Seen(), w.Unseen(), c.want)
			}
		})
	}
	w, err := whatif.Learn(was, &was.Houses[0], kept(t, recorded), whatif.Options{Until: begins.Add(40 * 24 * time.Hour)})
	if err != nil {
		t.Fatal(err)
	}
	same, err := w.Gain(t.Context(), &was.Houses[0], &was.Houses[0], w.Seen(), 1)
	if err != nil || same != (tune.Gain{}) {
		t.Errorf("settings gain %+v over themselves, %v", same, err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := w.Live(ctx, &was.Houses[0], w.Seen()); !errors.Is(err, context.Canceled) {
		t.Errorf("a winter that is stopped ends with %v", err)
	}
}
