package main

import (
	"net/http"
	"sync/atomic"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/export"
	"loambank/controller/history"
	"loambank/controller/page"
)

// pages serves the status page with metrics and health beside it. inForce holds the settings that
// are in force; stateDir is where history is kept, empty for nowhere.
func pages(farm *controller.Controller, inForce *atomic.Pointer[config.Settings], stateDir string) http.Handler {
	o := page.Options{View: farm.View, Settings: inForce.Load, Beside: export.Handler(farm.View)}
	o.Learned = func(house string) *page.Learned { return learned(farm.View(), house) }
	if stateDir != "" {
		o.History = func() (*history.Reader, error) { return history.OpenReader(stateDir) }
	}
	return page.New(o)
}

// learned is what a house has learned of what is left tonight, or nil.
func learned(v *controller.View, house string) *page.Learned {
	for _, h := range v.Houses {
		if h.Settings.House.Name != house || !h.Tonight.Known {
			continue
		}
		t := &h.Tonight
		out := &page.Learned{Tonight: &page.Tonight{HoldOutsideC: float64(t.HoldOutside), Binds: t.Bind.String()}}
		if t.Low.Temp.Known {
			low := float64(t.Low.Temp.C)
			out.Tonight.LowC, out.Tonight.LowFrom = &low, t.Low.Origin.String()
		}
		for i := range h.Settings.House.Decide.Stores {
			s := &t.Stores[i]
			out.Stores = append(out.Stores, page.StoreLeft{
				Known: s.Known, FillRatio: s.Fill, AvailableKWh: s.UsefulKWh, HoursLeftS: s.HoursLeft * 3600, Lasts: s.Lasts,
			})
		}
		return out
	}
	return nil
}
