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
	if stateDir != "" {
		o.History = func() (*history.Reader, error) { return history.OpenReader(stateDir) }
	}
	return page.New(o)
}
