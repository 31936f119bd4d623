package deploy_test

import (
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestThreeFarmsInOnePrometheusStayApart(t *testing.T) {
	program := buildDaemon(t)
	farms := map[string]*daemon{}
	targets := map[string]string{}
	for site, shipped := range map[string]string{
		"fern-hollow": "10.8.0.11:9798", "mill-bend": "10.8.0.12:9798", "stony-rise": "10.8.0.13:9798",
	} {
		farms[site] = startDaemon(t, program)
		targets[shipped] = farms[site].address
	}
	p := startPrometheus(t, "fleet-scrape.yml", targets)
	bySite := func(expr string) map[string]float64 {
		all := map[string]float64{}
		for _, a := range p.query(t, expr) {
			all[a.Metric["site"]] = a.Value.value(t)
		}
		return all
	}
	same := func(v float64) map[string]float64 {
		return map[string]float64{"fern-hollow": v, "mill-bend": v, "stony-rise": v}
	}
	for _, c := range []struct {
		what, expr string
		each       float64
	}{
		{"each site's daemon answers", "count by (site) (up == 1)", 1},
		{"each site has its two houses", "count by (site) (group by (site, house) (loambank_state))", 2},
		{"fans of the two houses have run at each site", "count by (site) (sum by (site, house) (loambank_fan_run_seconds_total) > 0)", 2},
		{"records keep the site", "count by (site) (store:loambank_fan_energy_kwh:increase1d > 0)", 2},
		{"records of money keep the site", `count by (site) (house:loambank_money:increase1d{kind="electricity"} > 0)`, 2},
	} {
		eventually(t, c.what, func() bool { return maps.Equal(bySite(c.expr), same(c.each)) })
	}

	// One farm goes away: the others do not stand in for it.
	farms["mill-bend"].stop(t)
	eventually(t, "one site that is missed", func() bool {
		return maps.Equal(bySite("count by (site) (up == 0)"), map[string]float64{"mill-bend": 1})
	})
	if n := len(p.query(t, `loambank_state{site="mill-bend"}`)); n != 0 {
		t.Errorf("%d series of a farm that is gone are shown still", n)
	}
	pending := p.query(t, `ALERTS{alertname="LoambankDown"}`)
	eventually(t, "the alert on that site", func() bool {
		pending = p.query(t, `ALERTS{alertname="LoambankDown"}`)
		return len(pending) > 0
	})
	if len(pending) != 1 || pending[0].Metric["site"] != "mill-bend" {
		t.Errorf("the alert is on %v, want mill-bend alone", pending)
	}
}

// TestWhatAFarmSendsOutArrivesElsewhere has a farm's own Prometheus send what it scrapes to a second
// one, and a third one fetch it from there.
func TestWhatAFarmSendsOutArrivesElsewhere(t *testing.T) {
	d := startDaemon(t, buildDaemon(t))
	page, _ := d.checkpointed(t)
	d.stop(t)
	board, _ := serveStill(t, page)
	password := filepath.Join(t.TempDir(), "password")
	if err := os.WriteFile(password, []byte("any"), 0o600); err != nil {
		t.Fatal(err)
	}
	const farms = `"10.8.0.11:9090", "10.8.0.12:9090", "10.8.0.13:9090"`
	receiver := startPrometheus(t, "fleet-federation.yml", map[string]string{farms: `"` + freeAddress(t) + `"`}, "--web.enable-remote-write-receiver")
	farm := startPrometheus(t, "fleet-remote-write.yml", map[string]string{
		boardAddress: board, "https://metrics.example": receiver.url, "/etc/prometheus/remote-write-password": password,
	})
	above := startPrometheus(t, "fleet-federation.yml", map[string]string{farms: `"` + strings.TrimPrefix(farm.url, "http://") + `"`})

	want := series(t, page)
	for name, p := range map[string]*prometheus{"sent": receiver, "fetched": above} {
		of := `,site="fern-hollow",instance="` + board + `"`
		eventually(t, "all that is "+name, func() bool { return len(p.stored(t, of)) == len(want) })
		if diff := cmp.Diff(want, p.stored(t, of)); diff != "" {
			t.Errorf("%s, it differs from the page (-page +%s):\n%s", name, name, diff)
		}
		eventually(t, "records that are "+name, func() bool {
			return p.number(t, `count(store:loambank_fan_energy_kwh:increase1d{site="fern-hollow"})`) > 0
		})
		if n := p.number(t, `up{job="loambank",site="fern-hollow"}`); n != 1 {
			t.Errorf("%s, the board is up %v times, want 1", name, n)
		}
	}
	if n := len(receiver.query(t, `{__name__=~"scrape_.+",site="fern-hollow"}`)); n != 0 {
		t.Errorf("%d series are sent that are of no use", n)
	}
}
