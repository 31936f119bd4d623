package export

import (
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"loambank/controller"
)

// Handler serves
//
//	/metrics   for Prometheus
//	/healthz   200 while every house ticks, 503 with the names of those that do not
//	/readyz    200 once every house has ticked
//	/          what the houses do, in plain text
//
// Nothing it serves changes anything. view must be safe from any goroutine.
func Handler(view func() *controller.View) http.Handler {
	registry := prometheus.NewPedanticRegistry()
	registry.MustRegister(New(view))
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(registry, promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) {
		answer(w, view().Stuck(time.Now()), "every house ticks")
	})
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, _ *http.Request) { ready(w, view()) })
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) {
		plain(w, http.StatusOK)
		landing(w, view())
	})
	return mux
}

func plain(w http.ResponseWriter, status int) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
}

// landing tells what the houses do and what is wrong with the farm.
func landing(w io.Writer, v *controller.View) {
	for _, s := range v.Houses {
		fmt.Fprintf(w, "%s, %s\n%s\n\n", s.Settings.House.Name,
			s.Time.In(s.Settings.House.Decide.Season.Site.Zone).Format("2006-01-02 15:04:05 MST"), s.Sentence)
	}
	for _, name := range v.Waiting {
		fmt.Fprintf(w, "%s\nNo reading yet.\n\n", name)
	}
	for _, trouble := range v.Troubles() {
		fmt.Fprintf(w, "%s\n\n", trouble)
	}
	fmt.Fprintln(w, "Metrics: /metrics   Health: /healthz, /readyz")
}

func ready(w http.ResponseWriter, v *controller.View) {
	var missing []string
	for _, name := range v.Waiting {
		missing = append(missing, name+" has not ticked yet")
	}
	answer(w, missing, "every house has ticked")
}

func answer(w http.ResponseWriter, faults []string, well string) {
	if len(faults) == 0 {
		plain(w, http.StatusOK)
		fmt.Fprintln(w, well)
		return
	}
	plain(w, http.StatusServiceUnavailable)
	for _, f := range faults {
		fmt.Fprintln(w, f)
	}
}
