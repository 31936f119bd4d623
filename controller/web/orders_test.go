package web_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/hand"
	"loambank/controller/history"
)

const off = `{"schema":1,"do":"off","house":"lower","for_s":3600}`

// order is one POST; what is left out is as a page of the board would send it.
type order struct {
	user, password, origin, kind, body string
	client                             *http.Client
}

func (o order) send(t *testing.T, url string) (int, hand.Answer) {
	t.Helper()
	if o.body == "" {
		o.body = off
	}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, url+"/hand", strings.NewReader(o.body))
	if err != nil {
		t.Fatal(err)
	}
	switch o.origin {
	case "":
		r.Header.Set("Origin", url)
	case "none":
	default:
		r.Header.Set("Origin", o.origin)
	}
	if o.kind == "" {
		o.kind = "application/json"
	}
	r.Header.Set("Content-Type", o.kind)
	if o.user != "" {
		r.SetBasicAuth(o.user, o.password)
	}
	w, err := o.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Body.Close()
	var a hand.Answer
	if w.StatusCode != http.StatusUnauthorized {
		if err := json.NewDecoder(w.Body).Decode(&a); err != nil {
			t.Fatalf("%s: %v", w.Status, err)
		}
	}
	return w.StatusCode, a
}

func TestWhoMayGiveOrders(t *testing.T) {
	ca := certify(t)
	plain, named := ca.client(), ca.client(ca.sign("grower"))
	other := ca.client(ca.sign("scrape"))
	forged := ca.client(certify(t).sign("grower"))
	grower := func(o order) order {
		o.user, o.password, o.client = "grower", growersPassword, plain
		return o
	}
	tests := []struct {
		name  string
		web   string // settings
		users string
		order order
		want  int
		fault string
	}{
		{"a grower with a password over TLS may", tlsServer + passwords, "grower", grower(order{}), 200, ""},
		{"a grower with a certificate may", tlsServer + clients, "grower", order{client: named}, 200, ""},
		{"who scrapes may not", tlsServer + passwords, "grower", order{user: "scrape", password: scrapePassword, client: plain}, 403, "hand_users"},
		{"nor with a certificate", tlsServer + clients, "grower", order{client: other}, 403, "hand_users"},
		{"a wrong password is turned away", tlsServer + passwords, "grower", order{user: "grower", password: scrapePassword, client: plain}, 401, ""},
		{"so is none", tlsServer + passwords, "grower", order{client: plain}, 401, ""},
		{"a name that nobody checks is no name", tlsServer, "grower", grower(order{}), 403, "TLS"},
		{"a certificate of anybody's authority names nobody", tlsServer + "  client_auth_type: RequireAnyClientCert\n", "grower", order{client: forged}, 403, "hand_users"},
		{"nor beside a certificate of another", tlsServer + clients, "grower", order{user: "grower", client: other}, 403, "hand_users"},
		{"a password without TLS is everybody's", passwords, "grower", grower(order{}), 403, "TLS"},
		{"nothing is on", "", "grower", grower(order{}), 403, "TLS"},
		{"nobody may while the settings name nobody", tlsServer + passwords, "", grower(order{}), 403, "hand_users"},
		{"another site's page may not", tlsServer + passwords, "grower", grower(order{origin: "https://evil.example"}), 403, "Origin"},
		{"nor one that hides", tlsServer + passwords, "grower", grower(order{origin: "null"}), 403, "Origin"},
		{"nor one without an origin", tlsServer + passwords, "grower", grower(order{origin: "none"}), 403, "Origin"},
		{"a form is no order", tlsServer + passwords, "grower", grower(order{kind: "application/x-www-form-urlencoded"}), 415, "application/json"},
		{"nor is text", tlsServer + passwords, "grower", grower(order{kind: "text/plain"}), 415, "application/json"},
		{"nor are scraps", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,`}), 400, "no order"},
		{"nor what has other keys", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,"do":"auto","house":"lower","who":"me"}`}), 400, "who"},
		{"nor are two", tlsServer + passwords, "grower", grower(order{body: off + off}), 400, "follows"},
		{"nor is a book", tlsServer + passwords, "grower", grower(order{body: `{"house":"` + strings.Repeat("x", 5000)}), 400, "too large"},
		{"smoke is cleared by who is there", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,"do":"clear","house":"lower"}`}), 400, "not taken over the network"},
		{"so is the bell silenced", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,"do":"quiet"}`}), 400, "not taken over the network"},
		{"twelve hours are a night", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,"do":"off","house":"lower","for_s":43200,"long":true}`}), 200, ""},
		{"a second more is not", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,"do":"off","house":"lower","for_s":43201,"long":true}`}), 400, "12 h"},
		{"long off is asked for twice", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,"do":"off","house":"lower","for_s":14401}`}), 422, "--long"},
		{"there is no such house", tlsServer + passwords, "grower", grower(order{body: `{"schema":1,"do":"auto","house":"middle"}`}), 422, "there is no house"},
	}
	f := working(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			file, scheme := "", "http://"
			if tt.web != "" {
				file = ca.write("web.yml", []byte(tt.web))
			}
			if strings.Contains(tt.web, "tls_server_config") {
				scheme = "https://"
			}
			status, a := tt.order.send(t, scheme+serving(t, f, file, strings.Fields(tt.users)))
			if status != tt.want || !strings.Contains(a.Error, tt.fault) || (a.Error == "") != (tt.fault == "") {
				t.Errorf("%d %q; want %d, %q", status, a.Error, tt.want, tt.fault)
			}
			if status == http.StatusOK && !strings.Contains(a.Text, "hand") {
				t.Errorf("the house says %q", a.Text)
			}
		})
	}
	f.stop()
	if diff := cmp.Diff([]string{"grower", "grower", "grower"}, journaled(t, f.dir)); diff != "" {
		t.Errorf("who ordered, by the journal (-want +got):\n%s", diff)
	}
}

// journaled returns who gave the orders of a journal's house, each without a known user id.
func journaled(t *testing.T, dir string) (who []string) {
	t.Helper()
	reader, err := history.OpenReader(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	for n, err := range reader.Notes(time.Now().Add(-time.Hour), time.Now().Add(time.Hour)) {
		if err != nil {
			t.Fatal(err)
		}
		if n.Kind == history.HandNote && n.House == "lower" && n.UID == -1 {
			who = append(who, n.User)
		}
	}
	return who
}

func TestOrdersComeAtAPersonsPace(t *testing.T) {
	ca := certify(t)
	url := "https://" + serving(t, working(t), ca.write("web.yml", []byte(tlsServer+passwords)), []string{"grower"})
	o := order{user: "grower", password: growersPassword, client: ca.client(), body: `{"schema":1,"do":"auto","house":"none"}`}
	stranger := o
	stranger.user, stranger.password = "scrape", scrapePassword
	for range 10 {
		stranger.send(t, url) // costs the grower nothing
	}
	var got []int
	for range 7 {
		status, _ := o.send(t, url)
		got = append(got, status)
	}
	if diff := cmp.Diff([]int{422, 422, 422, 422, 422, 422, 429}, got); diff != "" {
		t.Errorf("seven orders at once (-want +got):\n%s", diff)
	}
}

func TestOrdersArePosted(t *testing.T) {
	url := "http://" + serving(t, working(t), "", []string{"grower"})
	for _, method := range []string{http.MethodGet, http.MethodPut, http.MethodDelete} {
		r, err := http.NewRequestWithContext(t.Context(), method, url+"/hand", nil)
		if err != nil {
			t.Fatal(err)
		}
		w, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		w.Body.Close()
		if w.StatusCode != http.StatusMethodNotAllowed || w.Header.Get("Allow") != http.MethodPost {
			t.Errorf("%s: %s, Allow %q", method, w.Status, w.Header.Get("Allow"))
		}
	}
}
