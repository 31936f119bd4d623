package export

import (
	"fmt"
	"net/http"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"loambank/controller"
)

// Handler serves the metrics at /metrics and, to whoever looks at the address, what the houses do.
// Nothing it serves changes anything.
func Handler(snapshots func() []*controller.Snapshot) http.Handler {
	registry := prometheus.NewPedanticRegistry()
	registry.MustRegister(New(snapshots))
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(registry, promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		for _, s := range snapshots() {
			fmt.Fprintf(w, "%s, %s\n%s\n\n", s.Settings.House.Name,
				s.Time.In(s.Settings.House.Decide.Season.Site.Zone).Format("2006-01-02 15:04:05 MST"), s.Sentence)
		}
		fmt.Fprintln(w, "Metrics: /metrics")
	})
	return mux
}
