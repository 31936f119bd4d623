package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestNames(t *testing.T) {
	tests := []struct {
		name, listen, hostname string
		want                   []string
	}{
		{"nothing is known", "", "", []string{"localhost"}},
		{
			"an address is no name", "127.0.0.1:9798", "Hoop", []string{
				"localhost", "hoop", "hoop.local", "hoop.home.arpa", "hoop.internal", "hoop.lan",
			},
		},
		{
			"a board may have its domain and a name to listen at", "Farm.Example:9798", "hoop.example.net.", []string{
				"localhost", "farm.example", "hoop.example.net", "hoop", "hoop.local", "hoop.home.arpa", "hoop.internal", "hoop.lan",
			},
		},
		{"every network is no name", ":9798", "localhost", []string{"localhost"}},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, names(tt.listen, tt.hostname)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, diff)
		}
	}
}

func TestOnlyOurNamesAreAnswered(t *testing.T) {
	tests := []struct {
		name, host string
		want       bool
	}{
		{"an address", "192.0.2.7:9798", true},
		{"an address without a port", "192.0.2.7", true},
		{"an IPv6 address", "[2001:db8::7]:9798", true},
		{"an IPv6 address without a port", "[2001:db8::7]", true},
		{"this machine", "localhost:9798", true},
		{"the board", "hoop:9798", true},
		{"the board in a home network, loudly", "HOOP.LOCAL.:9798", true},
		{"a stranger", "rebind.example:9798", false},
		{"a stranger who begins like us", "hoop.example", false},
		{"a stranger who ends like us", "evil-localhost", false},
		{"a stranger with an address in the name", "127.0.0.1.rebind.example", false},
		{"nobody", "", false},
	}
	pages := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "page") })
	guarded := guard(pages, names("127.0.0.1:9798", "hoop"))
	for _, tt := range tests {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = tt.host
		w := httptest.NewRecorder()
		guarded.ServeHTTP(w, r)
		if got := w.Code == http.StatusOK && w.Body.String() == "page"; got != tt.want || !got && w.Code != http.StatusMisdirectedRequest {
			t.Errorf("%s, %q: %d %s", tt.name, tt.host, w.Code, w.Body)
		}
		if w.Header().Get("Content-Security-Policy") != policy || w.Header().Get("X-Content-Type-Options") != "nosniff" ||
			w.Header().Get("Referrer-Policy") != "no-referrer" || !strings.Contains(policy, "frame-ancestors 'none'") {
			t.Errorf("%s: headers %v", tt.name, w.Header())
		}
	}
	r := httptest.NewRequest(http.MethodGet, "https://rebind.example/", nil) // httptest sets TLS for it
	w := httptest.NewRecorder()
	guarded.ServeHTTP(w, r)
	if r.TLS == nil || w.Code != http.StatusOK {
		t.Errorf("over TLS the certificate says whose name it is: %d", w.Code)
	}
}

func TestBodiesAreBounded(t *testing.T) {
	for _, tt := range []struct {
		bytes int
		cut   bool
	}{{maxBodyBytes, false}, {maxBodyBytes + 1, true}} {
		var err error
		read := http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { _, err = io.ReadAll(r.Body) })
		r := httptest.NewRequest(http.MethodPost, "http://localhost/", strings.NewReader(strings.Repeat("x", tt.bytes)))
		guard(read, names("", "")).ServeHTTP(httptest.NewRecorder(), r)
		if (err != nil) != tt.cut {
			t.Errorf("%d bytes: %v", tt.bytes, err)
		}
	}
}
