// Package export shows the farm to Prometheus. It reads snapshots and touches no device and no
// file; counters come from the account, kept once.
package export

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
)

// Collector turns the farm as of its last ticks into metrics.
type Collector struct {
	view func() *controller.View
}

// New returns a collector of what view returns, which must be safe from any goroutine.
func New(view func() *controller.View) *Collector { return &Collector{view: view} }

// Describe sends every descriptor.
func (c *Collector) Describe(ch chan<- *prometheus.Desc) {
	for _, d := range all {
		ch <- d
	}
}

// Collect sends what the last ticks saw, with the counters as they are safely on disk.
func (c *Collector) Collect(ch chan<- prometheus.Metric) {
	v := c.view()
	c.farm(ch, v)
	for _, s := range v.Houses {
		w := writer{ch: ch, s: s, house: s.Settings.House.Name}
		w.gauge(tickAge, time.Since(s.Ticked).Seconds())
		w.accounts()
		w.probes()
		w.states()
		w.left()
		w.found()
		w.baseline()
	}
}

func (c *Collector) farm(ch chan<- prometheus.Metric, v *controller.View) {
	gauge := func(d *prometheus.Desc, x float64) {
		ch <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, x)
	}
	longest := 0.0
	for _, s := range v.Houses {
		longest = max(longest, s.Took.Seconds())
	}
	gauge(tickDuration, longest)
	gauge(reloaded, one(v.Reloaded))
	gauge(clockBelieved, one(v.Believed))
	gauge(alarmed, one(v.Sounds()))
	if h := v.History; h != nil {
		gauge(historyOK, one(h.LastError == ""))
		gauge(historyDropped, float64(h.Dropped))
		gauge(historyDamaged, float64(h.Damaged))
	}
	if v.Kept.Unix != 0 {
		gauge(checkpoint, float64(v.Kept.Unix))
	}
}

func one(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// writer sends the metrics of one house.
type writer struct {
	ch    chan<- prometheus.Metric
	s     controller.Shown
	house string
}

func (w *writer) counter(d *prometheus.Desc, v float64, labels ...string) {
	w.ch <- prometheus.MustNewConstMetric(d, prometheus.CounterValue, v, append([]string{w.house}, labels...)...)
}

func (w *writer) gauge(d *prometheus.Desc, v float64, labels ...string) {
	w.ch <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, append([]string{w.house}, labels...)...)
}

// accounts sends the counters of the stores and fans that there are: what is gone keeps its account
// and shows nothing.
func (w *writer) accounts() {
	a, settings := w.s.Counted, &w.s.Settings.House.Decide
	if a == nil {
		return
	}
	for i := range settings.Stores {
		name := settings.Stores[i].Name
		store := a.Store(name)
		if store == nil {
			continue // not on disk yet
		}
		for j := range settings.Stores[i].Fans {
			if fan := store.Fan(settings.Stores[i].Fans[j].Name); fan != nil {
				w.fan(name, fan)
			}
		}
		w.counter(heat, store.In.SensibleKWh, name, "in", "sensible")
		w.counter(heat, store.In.LatentKWh, name, "in", "latent")
		w.counter(heat, store.Out.SensibleKWh, name, "out", "sensible")
		w.counter(heat, store.Out.LatentKWh, name, "out", "latent")
		w.counter(condensate, store.CondensateLitres, name)
	}
	if currency := w.s.Currency; currency != "" {
		w.counter(money, a.ElectricityMoney, currency, "electricity")
		if settings.Heater.Present {
			w.counter(money, a.FuelMoney, currency, "fuel_avoided")
		}
	}
}

func (w *writer) fan(store string, fan *ledger.Fan) {
	for a, runS := range fan.RunS {
		w.counter(fanRunSeconds, runS, store, fan.Name, decide.Activity(a).String())
	}
	w.counter(fanStarts, float64(fan.Starts), store, fan.Name)
	w.counter(fanEnergy, fan.EnergyKWh, store, fan.Name)
}

// left sends what is left in the stores, and what running has saved.
func (w *writer) left() {
	t, stores := &w.s.Tonight, w.s.Settings.House.Decide.Stores
	for i := range stores {
		l, name := &t.Stores[i], stores[i].Name
		if t.Known {
			w.gauge(holdOutside, float64(t.HoldOutside), name)
		}
		if !l.Known {
			continue
		}
		w.gauge(storeFill, l.Fill, name)
		w.gauge(storeAvailable, l.UsefulKWh, name)
		if !l.Lasts {
			w.gauge(hoursLeft, l.HoursLeft*3600, name)
		}
	}
	if s := &w.s.Saved[ledger.Season]; s.Claimed() {
		w.gauge(savedEnergy, s.Energy.HeatKWh, "fuel")
		w.gauge(savedEnergy, -s.Energy.ElectricityKWh, "electricity")
		w.gauge(savedSpread, s.Energy.SpreadKWh, "fuel")
		w.gauge(savedSpread, 0, "electricity")
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
		if v.Quality.Usable() {
			w.value(p, v, store)
		}
		w.gauge(probeUp, one(v.Quality.Usable()), store, p.Name)
		w.gauge(probeAge, v.AgeS, store, p.Name)
		if a := w.s.Counted; a != nil && a.Probe(p.Name) != nil {
			w.counter(probeErrors, float64(a.Probe(p.Name).Errors), store, p.Name)
		}
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

// states sends what each store does and why, and whether its fans are well.
func (w *writer) states() {
	h := &w.s.Settings.House
	for i := range h.Decide.Stores {
		d, name := &w.s.Decision.Stores[i], h.Decide.Stores[i].Name
		for a := range decide.Activities {
			w.gauge(state, one(decide.Activity(a) == d.State), name, decide.Activity(a).String())
		}
		w.gauge(reasonInfo, 1, name, d.Reason.Code.String())
		for j, fan := range h.Decide.Stores[i].Fans {
			fault := w.s.State.Stores[i].Fans[j].Fault != decide.NoFault || w.s.Inputs.Stores[i].Fans[j].Down
			w.gauge(fanFault, one(fault), name, fan.Name)
		}
	}
}
