package controller

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/ledger"
	"loambank/controller/replay"
	"loambank/controller/report"
	"loambank/drivers/recording"
)

// reportAgrees compares the report on all the time of a farm, and on its parts, with its ledger.
func reportAgrees(t *testing.T, r *history.Reader, g *ground) {
	c, _, err := ledger.Load(g.state)
	if err != nil {
		t.Fatal(err)
	}
	end := from.AddDate(0, 0, 40)
	for i := range g.s.Houses {
		h := &g.s.Houses[i]
		var account *ledger.House
		for k := range c.Houses {
			if c.Houses[k].Account.Name == h.House.Name {
				account = &c.Houses[k].Account
			}
		}
		gather := func(now *ledger.House, from, to time.Time) *report.House {
			sum, err := report.Gather(r, h, now, from, to)
			if err != nil {
				t.Fatal(err)
			}
			return sum
		}
		all := gather(account, from, end)
		want := &account.Stores[0]
		got := &all.Stores[0]
		near := func(what string, got, want, within float64) {
			t.Helper()
			if math.Abs(got-want) > within {
				t.Errorf("%s: %s is %v, the ledger has %v", all.Name, what, got, want)
			}
		}
		near("fan time", got.RunS, want.Fans[0].RunTotalS()+want.Fans[1].RunTotalS(), 1e-6)
		near("starts", float64(got.Starts), float64(want.Fans[0].Starts+want.Fans[1].Starts), 0)
		near("heat out", got.Out.KWh(), want.Out.KWh(), 1e-9)
		// Each sample counts wholly for what most of its ticks did.
		sum := 0.0
		for a := range got.StateS {
			near("time in state", got.StateS[a], want.StateS[a], 0.03*all.KnownS+60)
			sum += got.StateS[a]
		}
		near("all time in states", sum, all.KnownS, 1)
		// Two parts make the whole. Counters of a past time are those of the hour that ended then.
		cut := from.AddDate(0, 0, 20).Truncate(time.Hour)
		one, two := gather(nil, from, cut), gather(account, cut, end)
		near("fan time of both parts", one.Stores[0].RunS+two.Stores[0].RunS, got.RunS, 2)
		near("starts of both parts", float64(one.Stores[0].Starts+two.Stores[0].Starts), float64(got.Starts), 0)
		near("known time of both parts", one.KnownS+two.KnownS, all.KnownS, 1)
		if one.Stores[0].RunS <= 0 || two.Stores[0].RunS <= 0 {
			t.Errorf("%s: one part is empty, nothing is proven", all.Name)
		}
		if len(one.Hands)+len(two.Hands) != len(all.Hands) || len(all.Hands) == 0 {
			t.Errorf("%s: %d and %d orders by hand, %d in all", all.Name, len(one.Hands), len(two.Hands), len(all.Hands))
		}
		if low := min(one.Low.C, two.Low.C); low != all.Low.C || !all.Low.Known {
			t.Errorf("%s: the lowest is %v, of both parts %v", all.Name, all.Low, low)
		}
	}
	lower := &g.s.Houses[0]
	sum, err := report.Gather(r, lower, nil, from, end)
	if err != nil {
		t.Fatal(err)
	}
	if len(sum.Faults) == 0 || !strings.Contains(sum.Faults[0].Text, "probe lower/air is bad") {
		t.Errorf("the probe that was pulled is not among the faults: %v", sum.Faults)
	}
	if sum.BlindS < 5*17*3600 || sum.BlindS > 6.1*18*3600 {
		t.Errorf("without air were %.1f h; the probe was pulled six times for 18 h", sum.BlindS/3600)
	}
}

// recordingReplays writes three days as a recording and reads them back.
func recordingReplays(t *testing.T, r *history.Reader, g *ground) {
	begin := from.AddDate(0, 0, 30)
	var out bytes.Buffer
	if err := report.WriteCSV(&out, r, g.s, begin, begin.AddDate(0, 0, 3), nil); err != nil {
		t.Fatal(err)
	}
	read, err := recording.NewReader(bytes.NewReader(out.Bytes()), recording.Options{Name: "export.csv"})
	if err != nil {
		t.Fatal(err)
	}
	rows := recording.Merge(read)
	sum, err := replay.Run(g.s, rows, replay.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if sum.Rows < 3*24*60-60 || sum.Rows > 3*24*60+10 {
		t.Errorf("%d rows were read back of three days of minutes", sum.Rows)
	}
	// The same values stand in the history.
	again, err := recording.NewReader(bytes.NewReader(out.Bytes()), recording.Options{Name: "export.csv"})
	if err != nil {
		t.Fatal(err)
	}
	var row recording.Row
	column := -1
	for i, c := range again.Columns() {
		if c.House == "upper" && c.Probe == "air" {
			column = i
		}
	}
	for s, err := range r.Samples("upper", begin, begin.Add(time.Hour)) {
		if err != nil {
			t.Fatal(err)
		}
		if err := again.Next(&row); err != nil {
			t.Fatal(err)
		}
		if !row.Time.Equal(s.At) || !row.OK[column] || row.Values[column] != s.Probes[0].Mean {
			t.Fatalf("at %v the recording has %v at %v, the history %v", s.At, row.Values[column], row.Time, s.Probes[0].Mean)
		}
	}
}
