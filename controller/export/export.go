// Package export shows the farm to Prometheus. It reads snapshots and touches no device and no
// file; counters come from the account, kept once.
package export

import (
	"github.com/prometheus/client_golang/prometheus"

	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// Collector turns the latest snapshots into metrics.
type Collector struct {
	snapshots func() []*controller.Snapshot
}

// New returns a collector of what snapshots returns, which must be safe from any goroutine.
func New(snapshots func() []*controller.Snapshot) *Collector {
	return &Collector{snapshots: snapshots}
}

// Describe sends every descriptor.
func (c *Collector) Describe(ch chan<- *prometheus.Desc) {
	for _, d := range all {
		ch <- d
	}
}

// Collect sends what the last ticks saw.
func (c *Collector) Collect(ch chan<- prometheus.Metric) {
	for _, s := range c.snapshots() {
		w := writer{ch: ch, s: s, house: s.Settings.House.Name}
		w.accounts()
		w.probes()
		w.states()
	}
}

// writer sends the metrics of one house.
type writer struct {
	ch    chan<- prometheus.Metric
	s     *controller.Snapshot
	house string
}

func (w *writer) counter(d *prometheus.Desc, v float64, labels ...string) {
	w.ch <- prometheus.MustNewConstMetric(d, prometheus.CounterValue, v, append([]string{w.house}, labels...)...)
}

func (w *writer) gauge(d *prometheus.Desc, v float64, labels ...string) {
	w.ch <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, append([]string{w.house}, labels...)...)
}

// accounts sends the counters of the account.
func (w *writer) accounts() {
	for _, store := range w.s.Account.Stores {
		for j := range store.Fans {
			fan := &store.Fans[j]
			for a, runS := range fan.RunS {
				w.counter(fanRunSeconds, runS, store.Name, fan.Name, decide.Activity(a).String())
			}
			w.counter(fanStarts, float64(fan.Starts), store.Name, fan.Name)
			w.counter(fanEnergy, fan.EnergyKWh, store.Name, fan.Name)
		}
		w.counter(heat, store.In.SensibleKWh, store.Name, "in", "sensible")
		w.counter(heat, store.In.LatentKWh, store.Name, "in", "latent")
		w.counter(heat, store.Out.SensibleKWh, store.Name, "out", "sensible")
		w.counter(heat, store.Out.LatentKWh, store.Name, "out", "latent")
		w.counter(condensate, store.CondensateLitres, store.Name)
	}
	if currency := w.s.Currency; currency != "" {
		w.counter(money, w.s.Account.ElectricityMoney, currency, "electricity")
		w.counter(money, w.s.Account.FuelMoney, currency, "fuel_avoided")
	}
}

// probes sends what each probe reads. The value of a bad one is left out.
func (w *writer) probes() {
	h := &w.s.Settings.House
	for i := range h.Probes {
		p, v := &h.Probes[i], &w.s.Verdicts[i]
		store := ""
		if p.Store != house.WholeHouse {
			store = h.Decide.Stores[p.Store].Name
		}
		up := 0.0
		if v.Quality.Usable() {
			up = 1
			w.value(p, v, store)
		}
		w.gauge(probeUp, up, store, p.Name)
		w.gauge(probeAge, v.AgeS, store, p.Name)
		w.counter(probeErrors, float64(w.s.Errors[i]), store, p.Name)
	}
}

func (w *writer) value(p *house.Probe, v *judge.Verdict, store string) {
	switch p.Judge.Role {
	case judge.Air:
		w.gauge(airTemperature, v.Value, p.Name)
	case judge.Humidity:
		w.gauge(humidity, v.Value, p.Name)
	case judge.Soil:
		depth := "" // not stated
		if p.Judge.DepthM > 0 {
			depth = unit.SI.Length(p.Judge.DepthM)
		}
		w.gauge(soilTemperature, v.Value, store, p.Name, depth)
	}
}

// states sends what each store does and why.
func (w *writer) states() {
	h := &w.s.Settings.House
	for i := range h.Decide.Stores {
		d, name := &w.s.Decision.Stores[i], h.Decide.Stores[i].Name
		for a := range decide.Activities {
			on := 0.0
			if decide.Activity(a) == d.State {
				on = 1
			}
			w.gauge(state, on, name, decide.Activity(a).String())
		}
		w.gauge(reasonInfo, 1, name, d.Reason.Code.String())
	}
}
