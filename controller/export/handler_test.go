package export_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"loambank/controller"
	"loambank/controller/export"
)

func TestHandler(t *testing.T) {
	tests := []struct {
		name, method, path string
		status             int
		kind               string
		has                []string
	}{
		{
			"the metrics", http.MethodGet, "/metrics", 200, "text/plain",
			[]string{"# TYPE loambank_fan_starts_total counter\n", `loambank_fan_starts_total{fan="east",house="lower",store="beds"} 37` + "\n"},
		},
		{
			"what the houses do, at their own time", http.MethodGet, "/", 200, "text/plain; charset=utf-8",
			[]string{"lower, 2026-01-21 05:00:00 EST\nCrop safe: lowest 37 °F at 04:40. Nothing to do.\n\n", "upper, 2026-01-21 05:00:00 EST\nCROP NOT WATCHED", "Metrics: /metrics   Health: /healthz, /readyz\n"},
		},
		{"that every house ticks", http.MethodGet, "/healthz", 200, "text/plain; charset=utf-8", []string{"every house ticks\n"}},
		{"that every house has ticked", http.MethodGet, "/readyz", 200, "text/plain; charset=utf-8", []string{"every house has ticked\n"}},
		{"only the head of it", http.MethodHead, "/", 200, "text/plain; charset=utf-8", nil},
		{"nothing else is there", http.MethodGet, "/config", 404, "", nil},
		{"nor below the metrics", http.MethodGet, "/metrics/lower", 404, "", nil},
		{"nothing may be sent to the page", http.MethodPost, "/", 405, "", nil},
		{"nor to the metrics", http.MethodPost, "/metrics", 405, "", nil},
		{"nor put", http.MethodPut, "/", 405, "", nil},
		{"nor deleted", http.MethodDelete, "/metrics", 405, "", nil},
	}
	server := httptest.NewServer(export.Handler(showing(lower(t), upper(t))))
	defer server.Close()
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			request, err := http.NewRequestWithContext(t.Context(), tt.method, server.URL+tt.path, nil)
			if err != nil {
				t.Fatal(err)
			}
			response, err := server.Client().Do(request)
			if err != nil {
				t.Fatal(err)
			}
			defer response.Body.Close()
			body, err := io.ReadAll(response.Body)
			if err != nil {
				t.Fatal(err)
			}
			if response.StatusCode != tt.status || !strings.HasPrefix(response.Header.Get("Content-Type"), tt.kind) {
				t.Errorf("got %s, %s; want %d, %s", response.Status, response.Header.Get("Content-Type"), tt.status, tt.kind)
			}
			for _, part := range tt.has {
				if !strings.Contains(string(body), part) {
					t.Errorf("lacks %q:\n%s", part, body)
				}
			}
		})
	}
}

// TestTroubleIsTold asks a farm that is not well.
func TestTroubleIsTold(t *testing.T) {
	tests := []struct {
		name, path string
		change     func(*controller.View)
		status     int
		want       string
	}{
		{"a house that does not tick", "/healthz", func(v *controller.View) { v.Houses[1].Ticked = time.Now().Add(-41 * time.Second) }, 503, "upper has not ticked for 41s\n"},
		{"one that is late", "/healthz", func(v *controller.View) { v.Houses[1].Ticked = time.Now().Add(-39 * time.Second) }, 200, "every house ticks\n"},
		{"a house that opens its devices", "/readyz", func(v *controller.View) { v.Waiting = []string{"new"} }, 503, "new has not ticked yet\n"},
		{"the same for people", "/", func(v *controller.View) { v.Waiting = []string{"new"} }, 200, "new\nNo reading yet.\n"},
		{"a full disk", "/", func(v *controller.View) { v.Kept.Fault = "no space left on device" }, 200, "NOT KEPT: counters stand still, and a restart forgets what happens now: no space left on device. The fans run on as before. Look whether the disk of the state directory is full, or can no longer be written.\n"},
		{"a lost ledger", "/", func(v *controller.View) { v.Kept.Lost = true }, 200, "every counter began at zero"},
		{"faulty settings", "/", func(v *controller.View) { v.Reloaded = false }, 200, "older settings are in force"},
		{"a clock in 1970", "/", func(v *controller.View) { v.Believed = false }, 200, "The clock is not set"},
	}
	for _, tt := range tests {
		v := showing(lower(t), upper(t))()
		tt.change(v)
		w := httptest.NewRecorder()
		export.Handler(func() *controller.View { return v }).ServeHTTP(w, httptest.NewRequest(http.MethodGet, tt.path, nil))
		if w.Code != tt.status || !strings.Contains(w.Body.String(), tt.want) {
			t.Errorf("%s: %d\n%s", tt.name, w.Code, w.Body)
		}
	}
	if body := page(t, showing(lower(t))()); strings.Contains(body, "NOT KEPT") || strings.Contains(body, "clock") || strings.Contains(body, "settings") {
		t.Errorf("a farm that is well tells of trouble:\n%s", body)
	}
}

func page(t *testing.T, v *controller.View) string {
	t.Helper()
	w := httptest.NewRecorder()
	export.Handler(func() *controller.View { return v }).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
	return w.Body.String()
}
