package browser_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"net/url"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"loambank/controller/history"
)

// webFile asks for TLS and passwords, whose hashes have bcrypt's least cost.
const webFile = `tls_server_config:
  cert_file: server.pem
  key_file: server.key
basic_auth_users:
  grower: $2a$04$tawBSMjgUtZnEgJaT8ok.eiHyCmeEzc1G7zuPucYlr1l6mcorQTXK
  scrape: $2a$04$2xsVsfo2z4WuKURRdyEqSOgEELFVRpic2Mf7HOSV4m79I6kUTNLSK
`

// certify writes a certificate for loopback that nobody vouches for.
func certify(t *testing.T, dir string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	of := x509.Certificate{
		SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	cert, err := x509.CreateCertificate(rand.Reader, &of, &of, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	write(t, dir+"/server.pem", string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert})))
	write(t, dir+"/server.key", string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private})))
}

// orderOff orders the fans off from within a page of the daemon, as a script of its own host could.
const orderOff = `fetch(location.protocol + "//" + location.host + "/hand", {method: "POST", credentials: "include",
headers: {"Content-Type": "application/json"}, body: JSON.stringify({schema: 1, do: "off", house: "lower", for_s: 3600})}).then(r => r.status)`

// orders opens the page as different people and orders the fans off.
func orders(t *testing.T, browser context.Context, program string) {
	dir := t.TempDir()
	certify(t, dir)
	write(t, dir+"/web.yml", webFile)
	d := stillIn(t, program, dir, "--web-config", "web.yml")
	as := func(user *url.Userinfo) (x *tab, at string) {
		u := url.URL{Scheme: "https", User: user, Host: d.address, Path: "/"}
		x = open(t, browser, screens[0], d.address)
		x.expect("net::ERR_") // of what it listened to when the daemon ends
		return x, u.String()
	}
	x, at := as(nil)
	if err := chromedp.Do(x.ctx, chromedp.Navigate(at)); err == nil || !strings.Contains(err.Error(), "INVALID_AUTH") {
		t.Errorf("without a password the page is shown, or not for that: %v", err)
	}
	x.expect("401")
	x, at = as(url.UserPassword("scrape", "scrape-only"))
	x.expect("403")
	x.do(chromedp.Navigate(at), chromedp.WaitVisible(chromedp.CSS(".store p")))
	if status := evaluate[int](x, orderOff); status != 403 {
		t.Errorf("who is not named gets %d, want 403", status)
	}
	if got := x.text(".store p"); !strings.HasPrefix(got, "frost, fans on") {
		t.Errorf("after a refused order the store is at %q", got)
	}
	x.do(chromedp.Navigate("about:blank")) // whose page would miss the daemon
	x, at = as(url.UserPassword("grower", "mulch-and-frost"))
	x.do(chromedp.Navigate(at), chromedp.WaitVisible(chromedp.CSS(".store p")))
	if status := evaluate[int](x, orderOff); status != 200 {
		t.Errorf("a named user gets %d, want 200", status)
	}
	eventually(t, "the order on the page", func() bool { return strings.HasPrefix(x.text(".store p"), "hand, fans off") })
	x.do(chromedp.Navigate("about:blank"))
	d.end(syscall.SIGTERM)
	if got, want := fmt.Sprint(orderers(t, d)), "[grower]"; got != want {
		t.Errorf("orders by %s stand in the journal, want %s", got, want)
	}
}

// orderers are who gave an order, by the journal.
func orderers(t *testing.T, d *daemon) (all []string) {
	t.Helper()
	r, err := history.OpenReader(d.file("state"))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for n, err := range r.Notes(time.Now().Add(-time.Hour), time.Now().Add(time.Hour)) {
		if err != nil {
			t.Fatal(err)
		}
		if n.Kind == history.HandNote {
			all = append(all, n.User)
		}
	}
	return all
}
