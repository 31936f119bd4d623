package web_test

import (
	"bufio"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"loambank/controller"
	"loambank/controller/web"
)

func TestFaultyWebSettingsAreRefused(t *testing.T) {
	ca := certify(t)
	tests := []struct {
		name, text string
		want       []string
	}{
		{"an unknown key", "basic_users:\n  a: b\n", []string{"web.yml", "line 1", "basic_users"}},
		{"a password that is no hash", "basic_auth_users:\n  grower: secret\n", []string{"web.yml", "bcrypt"}},
		{"a certificate that is not there", "tls_server_config:\n  cert_file: none.pem\n  key_file: server.key\n", []string{"web.yml", "none.pem"}},
		{"a certificate without its key", "tls_server_config:\n  cert_file: server.pem\n", []string{"web.yml", "key_file"}},
	}
	for _, tt := range tests {
		file := ca.write("web.yml", []byte(tt.text))
		_, err := web.New(http.NotFoundHandler(), web.Options{ConfigFile: file, Log: slog.New(slog.DiscardHandler)})
		for _, part := range tt.want {
			if err == nil || !strings.Contains(err.Error(), part) {
				t.Errorf("%s: %v; want %q", tt.name, err, part)
			}
		}
	}
	if _, err := web.New(http.NotFoundHandler(), web.Options{ConfigFile: ca.dir + "/other.yml", Log: slog.New(slog.DiscardHandler)}); err == nil {
		t.Error("a file that is not there is taken")
	}
}

func TestANewPasswordNeedsNoRestart(t *testing.T) {
	ca := certify(t)
	file := ca.write("web.yml", []byte(tlsServer+passwords))
	url := "https://" + serving(t, working(t), file, nil) + "/metrics"
	client := ca.client()
	get := func(password string) int {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, url, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.SetBasicAuth("scrape", password)
		w, err := client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer w.Body.Close()
		return w.StatusCode
	}
	before := get(scrapePassword)
	ca.write("web.yml", []byte(strings.ReplaceAll(tlsServer+passwords, "scrape:", "other:")))
	if after := get(scrapePassword); before != http.StatusOK || after != http.StatusUnauthorized {
		t.Errorf("%d, then %d without that user; want 200 and 401", before, after)
	}
}

// connections is as many as a small board may see at once on a bad day, under the bound of the server.
const connections = 200

// TestAFloodDoesNotReachTheFarm opens 200 connections that send slowly, nonsense, or too much, and
// sees the house tick and a scrape answered beside them.
func TestAFloodDoesNotReachTheFarm(t *testing.T) {
	f := working(t)
	address := serving(t, f, "", nil)
	var slow []net.Conn
	for i := range connections {
		c, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		switch i % 4 {
		case 0: // the head of a request that never ends
			fmt.Fprint(c, "GET /metrics HTTP/1.1\r\nHost: localhost\r\nX-Slow: ")
			slow = append(slow, c)
		case 1: // a body that never comes
			fmt.Fprint(c, "POST /hand HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4000\r\n\r\n{")
			slow = append(slow, c)
		case 2: // no HTTP
			fmt.Fprint(c, "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n")
			refused(t, c, "400")
		case 3: // a head without bounds
			fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: %s\r\n\r\n", strings.Repeat("x", 24<<10))
			refused(t, c, "431")
		}
	}
	began := time.Now()
	ticks := 0
	var slowest time.Duration
	for last := began; ticks < 3; {
		if time.Since(began) > 30*time.Second {
			t.Fatalf("the house ticked %d times in 30 s", ticks)
		}
		shown := house(f.View())
		if shown != nil && shown.Ticked.After(last) {
			last, ticks, slowest = shown.Ticked, ticks+1, max(slowest, shown.Took)
		}
		scraped(t, address)
	}
	if slowest > time.Second { // generous: a quiet tick takes about a millisecond
		t.Errorf("a tick took %v beside %d connections", slowest, connections)
	}
	t.Logf("slowest of %d ticks beside %d connections: %v", ticks, connections, slowest)
	for _, c := range slow { // none is kept for longer than a request may take
		if err := c.SetReadDeadline(began.Add(30 * time.Second)); err != nil {
			t.Fatal(err)
		}
		if _, err := io.ReadAll(c); err != nil && strings.Contains(err.Error(), "timeout") {
			t.Fatal("a connection that never ends its request is kept")
		}
	}
}

func house(v *controller.View) *controller.Snapshot {
	for i := range v.Houses {
		if v.Houses[i].Settings.House.Name == "lower" {
			return v.Houses[i].Snapshot
		}
	}
	return nil
}

// refused reads what a server says to nonsense; it may also have hung up.
func refused(t *testing.T, c net.Conn, status string) {
	t.Helper()
	line, err := bufio.NewReader(c).ReadString('\n')
	if err == nil && !strings.HasPrefix(line, "HTTP/1.1 "+status) {
		t.Errorf("nonsense is answered %q, want %s", line, status)
	}
}

func scraped(t *testing.T, address string) {
	t.Helper()
	w, err := http.Get("http://" + address + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer w.Body.Close()
	text, err := io.ReadAll(w.Body)
	if err != nil || w.StatusCode != http.StatusOK || !strings.Contains(string(text), "loambank_tick_duration_seconds") {
		t.Fatalf("%s: %v", w.Status, err)
	}
}
