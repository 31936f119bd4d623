package deploy_test

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/decide"
	"loambank/controller/ledger"
)

// boardAddress stands for the board in the settings that are shipped.
const boardAddress = "127.0.0.1:9798"

// counted are the series that a checkpoint makes, keyed as series keys them.
func counted(c *ledger.Checkpoint, currency string) map[string]float64 {
	all := map[string]float64{}
	for i := range c.Houses {
		h := &c.Houses[i].Account
		put := func(name string, v float64, labels map[string]string) {
			labels["house"] = h.Name
			all[key("loambank_"+name, labels)] = v
		}
		for _, s := range h.Stores {
			for _, f := range s.Fans {
				for a, runS := range f.RunS {
					put("fan_run_seconds_total", runS, map[string]string{"store": s.Name, "fan": f.Name, "state": decide.Activity(a).String()})
				}
				put("fan_starts_total", float64(f.Starts), map[string]string{"store": s.Name, "fan": f.Name})
				put("fan_energy_kwh_total", f.EnergyKWh, map[string]string{"store": s.Name, "fan": f.Name})
			}
			for direction, heat := range map[string]ledger.Heat{"in": s.In, "out": s.Out} {
				put("heat_kwh_total", heat.SensibleKWh, map[string]string{"store": s.Name, "direction": direction, "kind": "sensible"})
				put("heat_kwh_total", heat.LatentKWh, map[string]string{"store": s.Name, "direction": direction, "kind": "latent"})
			}
			put("condensate_litres_total", s.CondensateLitres, map[string]string{"store": s.Name})
		}
		put("money_total", h.ElectricityMoney, map[string]string{"currency": currency, "kind": "electricity"})
		if h.Name == "lower" { // the house with a heater
			put("money_total", h.FuelMoney, map[string]string{"currency": currency, "kind": "fuel_avoided"})
		}
	}
	return all
}

func TestPrometheusReadsBackWhatTheDaemonShowsAndItsLedgerHolds(t *testing.T) {
	d := startDaemon(t, buildDaemon(t))
	eventually(t, "a fan that has run in each house, on disk", func() bool {
		_, kept := d.checkpointed(t)
		return len(kept.Houses) == 2 && !slices.ContainsFunc(kept.Houses, func(e ledger.Entry) bool {
			return e.Account.Stores[0].Fans[0].RunTotalS() == 0
		})
	})
	page, kept := d.checkpointed(t)

	board, given := serveStill(t, page)
	p := startPrometheus(t, "prometheus.yml", map[string]string{boardAddress: board})
	eventually(t, "a scrape that is over before the next", func() bool { return given.Load() >= 2 })

	shown, stored := series(t, page), p.stored(t, "")
	if diff := cmp.Diff(shown, stored); diff != "" {
		t.Errorf("what Prometheus stored differs from the page (-page +stored):\n%s", diff)
	}
	booked := counted(kept, "USD")
	for name, want := range booked {
		if got, there := stored[name]; !there || got != want {
			t.Errorf("%s: Prometheus has %v (there: %v), the ledger %v", name, got, there, want)
		}
	}
	// Three fans with nine states, starts and energy each, two stores with four heats and water, two
	// houses with one sum of money, and one more for the heater.
	if want := 3*(9+2) + 2*(4+1) + 2 + 1; len(booked) != want {
		t.Errorf("the ledger makes %d series, want %d", len(booked), want)
	}
}

// serveStill serves one page of metrics again and again, while what the daemon shows moves on. given
// counts how often.
func serveStill(t *testing.T, page []byte) (address string, given *atomic.Int64) {
	t.Helper()
	given = new(atomic.Int64)
	still := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
		_, _ = w.Write(page)
		given.Add(1)
	}))
	t.Cleanup(still.Close)
	return strings.TrimPrefix(still.URL, "http://"), given
}

func TestNoCounterFallsWhenTheDaemonIsKilledOrStartsAnew(t *testing.T) {
	d := startDaemon(t, buildDaemon(t))
	p := startPrometheus(t, "prometheus.yml", map[string]string{boardAddress: d.address})
	const ran = "sum(loambank_fan_run_seconds_total)"
	more := func(after string) {
		t.Helper()
		before := p.number(t, "max_over_time("+ran+"[10m:200ms])")
		eventually(t, "fans that run "+after, func() bool { return p.number(t, ran) > before })
	}
	more("at first")
	first, from := p.scraped(t, d)
	for _, ended := range []struct {
		how string
		end func()
	}{
		{"after a kill", func() { _ = d.end(syscall.SIGKILL) }},
		{"after a stop", func() { d.stop(t) }},
		{"after a second kill", func() { _ = d.end(syscall.SIGKILL) }},
	} {
		ended.end()
		eventually(t, "a scrape that finds nobody", func() bool { return p.number(t, `up{job="loambank"}`) == 0 })
		d.start(t)
		eventually(t, "a scrape "+ended.how, func() bool { return p.number(t, `up{job="loambank"}`) == 1 })
		more(ended.how)
	}

	counters := regexp.MustCompile(`(?m)^# TYPE (loambank_\w+) counter$`).FindAllSubmatch(d.metrics(t), -1)
	if len(counters) < 7 { // run, starts, energy, heat, condensate, money, errors
		t.Errorf("the page has only %d counters", len(counters))
	}
	for _, c := range counters {
		name := string(c[1])
		if n := p.number(t, "max(resets("+name+"[10m]))"); n != 0 {
			t.Errorf("%s was reset %v times", name, n)
		}
		for _, a := range p.query(t, name+"[10m]") {
			neverFalls(t, key(name, a.Metric), a.Values)
		}
	}
	if n := p.number(t, `changes(up{job="loambank"}[10m])`); n < 6 {
		t.Errorf("the daemon came or went %v times for Prometheus, want 6", n)
	}
	last, to := p.killedWhenScraped(t, d)
	p.rises(t, first, from, last, to)
}

func neverFalls(t *testing.T, name string, values []point) {
	t.Helper()
	for i := 1; i < len(values); i++ {
		if before, v := values[i-1].value(t), values[i].value(t); v < before {
			t.Errorf("%s falls from %v to %v", name, before, v)
		}
	}
}
