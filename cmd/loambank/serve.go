package main

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"os"
	"sync/atomic"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/web"
)

// site is everything that is served: the pages, and orders over the network.
func site(farm *controller.Controller, inForce *atomic.Pointer[config.Settings], stateDir string, log *slog.Logger) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/", pages(farm, inForce, stateDir))
	mux.Handle("/hand", web.Orders(web.OrderOptions{
		Farm: farm, Log: log, Users: func() []string { return inForce.Load().HandUsers },
	}))
	return mux
}

// serve serves a site until stop is called, which waits for its end. A farm whose web settings have
// faults runs all the same: nothing is served then, rather than without the password they ask for.
func serve(l net.Listener, site http.Handler, o web.Options) (stop func()) {
	server, err := web.New(site, o)
	if err != nil {
		o.Log.Error("nothing is served", keyError, errors.Join(err, l.Close()))
		return func() {}
	}
	ended := aside(func(context.Context) {
		if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			o.Log.Error("nothing is served any more", keyError, err)
		}
	})
	return func() {
		if err := server.Close(); err != nil {
			o.Log.Warn("connections were not all closed", keyError, err)
		}
		ended()
	}
}

// hostname is this machine's name, empty where the kernel does not tell.
func hostname() string {
	name, err := os.Hostname()
	if err != nil {
		return ""
	}
	return name
}
