package export_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

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
			[]string{"lower, 2026-01-21 05:00:00 EST\nCrop safe: lowest 37 °F at 04:40. Nothing to do.\n\n", "upper, 2026-01-21 05:00:00 EST\nCROP NOT WATCHED", "Metrics: /metrics\n"},
		},
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
