package web_test

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"log/slog"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/export"
	"loambank/controller/web"
)

// passwords are hashed at bcrypt's least cost: the tests are about who may, not about how long.
const passwords = `
basic_auth_users:
  grower: $2a$04$tawBSMjgUtZnEgJaT8ok.eiHyCmeEzc1G7zuPucYlr1l6mcorQTXK
  scrape: $2a$04$2xsVsfo2z4WuKURRdyEqSOgEELFVRpic2Mf7HOSV4m79I6kUTNLSK
`

const (
	growersPassword = "mulch-and-frost"
	scrapePassword  = "scrape-only"
)

// tlsServer serves the certificate that authority writes.
const tlsServer = `
tls_server_config:
  cert_file: server.pem
  key_file: server.key
`

// clients asks for a certificate of the authority and takes none as well.
const clients = `  client_auth_type: VerifyClientCertIfGiven
  client_ca_file: ca.pem
`

// authority signs the certificates of a test.
type authority struct {
	t    *testing.T
	dir  string
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

// certify makes an authority, and a server's certificate for localhost in a folder of its own.
func certify(t *testing.T) *authority {
	t.Helper()
	a := &authority{t: t, dir: t.TempDir()}
	a.key = newKey(t)
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Fern Hollow"}, NotAfter: time.Now().Add(time.Hour),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &a.key.PublicKey, a.key)
	if err != nil {
		t.Fatal(err)
	}
	if a.cert, err = x509.ParseCertificate(der); err != nil {
		t.Fatal(err)
	}
	server := a.sign("hoop")
	key, err := x509.MarshalPKCS8PrivateKey(server.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	a.write("ca.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}))
	a.write("server.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: server.Certificate[0]}))
	a.write("server.key", pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: key}))
	return a
}

func newKey(t *testing.T) *ecdsa.PrivateKey {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// sign makes a certificate that names its owner.
func (a *authority) sign(name string) tls.Certificate {
	a.t.Helper()
	key := newKey(a.t)
	template := &x509.Certificate{
		SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: name}, NotAfter: time.Now().Add(time.Hour),
		DNSNames: []string{"localhost"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth},
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.cert, &key.PublicKey, a.key)
	if err != nil {
		a.t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}
}

// write writes a file beside the certificates and returns its path.
func (a *authority) write(name string, text []byte) string {
	a.t.Helper()
	path := filepath.Join(a.dir, name)
	if err := os.WriteFile(path, text, 0o600); err != nil {
		a.t.Fatal(err)
	}
	return path
}

// client trusts the authority and shows certificates of its own, if any.
func (a *authority) client(own ...tls.Certificate) *http.Client {
	pool := x509.NewCertPool()
	pool.AddCert(a.cert)
	transport := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, Certificates: own}, ForceAttemptHTTP2: true}
	a.t.Cleanup(transport.CloseIdleConnections)
	return &http.Client{Transport: transport}
}

// farm is the demo's invented farm, at work for the length of a test, with a history.
type farm struct {
	*controller.Controller
	dir  string
	stop func()
}

func working(t *testing.T) *farm {
	t.Helper()
	text, err := os.ReadFile("../../cmd/loambank/demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte(`"1 min"`), []byte(`"1 s"`), 1)
	s, err := config.Parse("farm.toml", text, nil)
	if err != nil {
		t.Fatal(err)
	}
	f := &farm{dir: t.TempDir()}
	if f.Controller, err = controller.New(t.Context(), s, controller.Options{StateDir: f.dir}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.WithoutCancel(t.Context()))
	done := make(chan error, 1)
	go func() { done <- f.Run(ctx) }()
	f.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(f.stop)
	return f
}

// serving serves a farm with the web settings for the length of a test. It returns the address.
func serving(t *testing.T, f *farm, configFile string, users []string) string {
	t.Helper()
	log := slog.New(slog.DiscardHandler)
	now := time.Now()
	site := http.NewServeMux()
	site.Handle("/", export.Handler(f.View))
	site.Handle("/hand", web.Orders(web.OrderOptions{
		Farm: f, Log: log, Users: func() []string { return users }, Now: func() time.Time { return now },
	}))
	server, err := web.New(site, web.Options{ConfigFile: configFile, Log: log})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- server.Serve(l) }()
	t.Cleanup(func() {
		if err := server.Close(); err != nil {
			t.Error(err)
		}
		if err := <-done; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	})
	return l.Addr().String()
}
