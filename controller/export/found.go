package export

import (
	"github.com/prometheus/client_golang/prometheus"

	"loambank/controller/learn"
)

// What a notice is called in its label.
var (
	noticeNames = [...]string{
		learn.SideOpen: "side-open", learn.ProbeInSun: "probe-in-sun", learn.ProbeAtPipe: "probe-at-pipe",
		learn.StoreWetter: "store-wetter", learn.StoreDrier: "store-drier",
	}
	causeNames = [...]string{
		learn.Airflow: "accounts-airflow", learn.Probe: "accounts-probe", learn.Leak: "accounts-leak", learn.Water: "accounts-water",
	}
)

// found sends what was learned of the house, and what looks wrong by it.
func (w *writer) found() {
	f, stores := &w.s.Found, w.s.Settings.House.Decide.Stores
	w.estimate(houseLoss, houseLossSpread, f.House.LossWK)
	for k := learn.SideOpen; k <= learn.ProbeInSun; k++ {
		w.gauge(notice, one(w.noticed(k, -1)), "", noticeNames[k])
	}
	for i := range f.Stores {
		name := stores[i].Name
		w.estimate(effectiveness, effectivenessSpread, f.Stores[i].Effectiveness, name)
		w.estimate(airflow, airflowSpread, f.Stores[i].FlowM3s, name)
		b := &f.Balances[i]
		if b.Days > 0 {
			w.gauge(balance, b.Ratio, name)
			w.gauge(balanceSpread, b.SE, name)
		}
		for k := learn.ProbeAtPipe; k <= learn.StoreDrier; k++ {
			w.gauge(notice, one(w.noticed(k, i)), name, noticeNames[k])
		}
		for c := learn.Airflow; c <= learn.Water; c++ {
			w.gauge(notice, one(b.Cause == c), name, causeNames[c])
		}
	}
}

// estimate sends a value with its error, which is wide until something taught it.
func (w *writer) estimate(value, spread *prometheus.Desc, e learn.Estimate, labels ...string) {
	w.gauge(value, e.Value, labels...)
	w.gauge(spread, e.SE, labels...)
}

// noticed reports whether a warning holds of a store, or of the house for -1.
func (w *writer) noticed(k learn.Warning, store int) bool {
	for _, n := range w.s.Found.Notices {
		if n.Warning == k && n.Store == store {
			return true
		}
	}
	return false
}
