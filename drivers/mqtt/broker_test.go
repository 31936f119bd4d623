package mqtt

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// broker is a mosquitto on loopback with a folder of its own.
type broker struct {
	program, dir, at, url string
	cmd                   *exec.Cmd
}

// startBroker starts one. Where the program is missing the test is skipped, or, with
// LOAMBANK_TEST_PROGRAMS=require, fails.
func startBroker(t *testing.T, scheme string, more ...string) *broker {
	t.Helper()
	program, err := exec.LookPath("mosquitto")
	if err != nil {
		if program = "/usr/sbin/mosquitto"; !there(program) { // not on everybody's path
			const missing = "mosquitto is missing; install it to run this test"
			if os.Getenv("LOAMBANK_TEST_PROGRAMS") == "require" {
				t.Fatal(missing)
			}
			t.Skip(missing)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l.Close()
	b := &broker{program: program, dir: t.TempDir(), at: l.Addr().String(), url: scheme + "://" + l.Addr().String()}
	_, port, _ := net.SplitHostPort(b.at)
	text := "listener " + port + " 127.0.0.1\npersistence false\nuser root\n"
	for _, line := range more {
		text += line + "\n"
	}
	if len(more) == 0 {
		text += "allow_anonymous true\n"
	}
	if err := os.WriteFile(filepath.Join(b.dir, "conf"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	b.start(t)
	t.Cleanup(b.kill)
	return b
}

func there(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

func (b *broker) start(t *testing.T) {
	t.Helper()
	var said bytes.Buffer
	b.cmd = exec.Command(b.program, "-c", filepath.Join(b.dir, "conf"))
	b.cmd.Stderr = &said
	if err := b.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	until(t, "the broker answers", func() bool {
		c, err := net.Dial("tcp", b.at)
		if err == nil {
			c.Close()
		}
		return err == nil
	})
}

// kill stops the broker as a power cut would.
func (b *broker) kill() {
	if b.cmd != nil {
		b.cmd.Process.Kill()
		b.cmd.Wait()
	}
	b.cmd = nil
}

// until waits for what another program does.
func until(t *testing.T, what string, done func() bool) {
	t.Helper()
	late := time.After(20 * time.Second)
	for !done() {
		select {
		case <-late:
			t.Fatal("in vain: " + what)
		case <-time.After(5 * time.Millisecond):
		}
	}
}

// listener notes what a topic tells.
type listener struct {
	*link
	sync.Mutex
	heard []string
}

func (b *broker) listen(t *testing.T, topic string) *listener {
	t.Helper()
	u, err := ParseBroker(b.url)
	if err != nil {
		t.Fatal(err)
	}
	l := &listener{}
	l.link, err = dial(u, Login{}, options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.close() })
	l.listen(&ear{topic: topic, hear: func(p []byte, _ bool) {
		l.Lock()
		defer l.Unlock()
		l.heard = append(l.heard, string(p))
	}})
	return l
}

func (l *listener) last() string {
	l.Lock()
	defer l.Unlock()
	if len(l.heard) == 0 {
		return ""
	}
	return l.heard[len(l.heard)-1]
}

func (l *listener) count() int {
	l.Lock()
	defer l.Unlock()
	return len(l.heard)
}

// tell publishes again until it was heard, since listening begins at some time of its own.
func (l *listener) tell(t *testing.T, topic, payload string, done func() bool) {
	t.Helper()
	until(t, topic+" tells "+payload, func() bool {
		if err := l.publish(t.Context(), topic, payload); err != nil {
			t.Fatal(err)
		}
		return done()
	})
}

// authority makes a certificate authority and certificates that it signed, each "name.pem" and
// "name.key" in a folder.
func authority(t *testing.T, dir string, names ...string) {
	t.Helper()
	write := func(name, kind string, der []byte) {
		b := pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der})
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var parent *x509.Certificate
	var signer *ecdsa.PrivateKey
	for i, name := range append([]string{"ca"}, names...) {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		c := &x509.Certificate{
			SerialNumber: big.NewInt(int64(i + 1)), Subject: pkix.Name{CommonName: name},
			NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
			IsCA: i == 0, BasicConstraintsValid: true, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
			KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
		}
		if i == 0 {
			parent, signer = c, key
		}
		der, err := x509.CreateCertificate(rand.Reader, c, parent, &key.PublicKey, signer)
		if err != nil {
			t.Fatal(err)
		}
		private, err := x509.MarshalPKCS8PrivateKey(key)
		if err != nil {
			t.Fatal(err)
		}
		write(name+".pem", "CERTIFICATE", der)
		write(name+".key", "PRIVATE KEY", private)
	}
}

func fanOptions(b *broker) FanOptions {
	return FanOptions{Name: "lower/beds/east", Broker: b.url, Topic: "beds/east/set", Payloads: []string{"OFF", "LOW", "HIGH"}}
}

func openFan(t *testing.T, o FanOptions) *Fan {
	t.Helper()
	f, err := NewFan(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func openProbe(t *testing.T, all *Brokers, o ProbeOptions) *Probe {
	t.Helper()
	if o.Stale == 0 {
		o.Stale = time.Minute
	}
	o.Name = "lower/" + o.Topic
	p, err := all.NewProbe(o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close() })
	return p
}

func (p *Probe) reads(t *testing.T, want float64) func() bool {
	return func() bool { v, err := p.Read(t.Context()); return err == nil && v == want }
}

func files(dir string) string {
	return fmt.Sprintf("cafile %[1]s/ca.pem\ncertfile %[1]s/broker.pem\nkeyfile %[1]s/broker.key", dir)
}
