package deploy_test

import (
	"maps"
	"math"
	"slices"
	"strings"
	"syscall"
	"testing"

	"loambank/controller/ledger"
)

const stamp = "loambank_ledger_checkpoint_timestamp_seconds"

// stamped are the times of Prometheus's samples by the checkpoint that they show.
func (p *prometheus) stamped(t *testing.T) map[float64][]float64 {
	t.Helper()
	all := map[float64][]float64{}
	for _, a := range p.query(t, stamp+"[10m]") {
		for _, v := range a.Values {
			all[v.value(t)] = append(all[v.value(t)], v.at(t))
		}
	}
	return all
}

// scraped returns a checkpoint of a daemon that runs, and the time of a sample of it.
func (p *prometheus) scraped(t *testing.T, d *daemon) (kept *ledger.Checkpoint, at float64) {
	t.Helper()
	eventually(t, "a checkpoint that is scraped", func() bool {
		_, kept = d.checkpointed(t)
		times := p.stamped(t)[float64(kept.Unix)]
		if len(times) > 0 {
			at = times[0]
		}
		return len(times) > 0
	})
	return kept, at
}

// killedWhenScraped kills a daemon until its last checkpoint is one that was scraped, and returns that
// with the time of the last sample of it.
func (p *prometheus) killedWhenScraped(t *testing.T, d *daemon) (kept *ledger.Checkpoint, at float64) {
	t.Helper()
	for range 20 {
		_ = d.end(syscall.SIGKILL)
		kept, _, err := ledger.Load(d.state())
		if err != nil {
			t.Fatal(err)
		}
		if times := p.stamped(t)[float64(kept.Unix)]; len(times) > 0 {
			return kept, times[len(times)-1]
		}
		d.start(t)
		p.scraped(t, d)
	}
	t.Fatal("no kill came after a scrape of the last checkpoint in 20 tries")
	return nil, 0
}

// rises wants the increase of every counter between two samples, resets and all, to be what the ledger
// rose by between their checkpoints. increase() itself stretches it to a window, which is no account.
func (p *prometheus) rises(t *testing.T, first *ledger.Checkpoint, from float64, last *ledger.Checkpoint, to float64) {
	t.Helper()
	was, is := counted(first, "USD"), counted(last, "USD")
	rose := map[string]float64{}
	for _, a := range p.query(t, `{__name__=~"loambank_.+_total"}[10m]`) {
		name := key(a.Metric["__name__"], a.Metric)
		points := slices.DeleteFunc(a.Values, func(v point) bool { return v.at(t) < from || v.at(t) > to })
		for i := 1; i < len(points); i++ {
			before, v := points[i-1].value(t), points[i].value(t)
			if v < before {
				before = 0 // a reset, as increase() counts one
			}
			rose[name] += v - before
		}
	}
	ranS := 0.0
	for _, name := range slices.Sorted(maps.Keys(is)) {
		if want := is[name] - was[name]; math.Abs(rose[name]-want) > 1e-6*max(1, want) {
			t.Errorf("%s rose by %v for Prometheus, by %v in the ledger", name, rose[name], want)
		}
		if strings.HasPrefix(name, "loambank_fan_run_seconds_total") {
			ranS += rose[name]
		}
	}
	if ranS == 0 {
		t.Error("no fan ran: nothing is proven")
	}
}
