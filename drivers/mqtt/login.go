package mqtt

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
)

// Login says how a broker is met. The zero value is a guest.
type Login struct {
	CAFile       string // PEM; who may sign the broker's certificate; "" is whom the machine trusts
	CertFile     string // PEM; our certificate, with KeyFile
	KeyFile      string // PEM
	User         string
	PasswordFile string // its first line is the password
}

// ParseBroker reads "mqtt://host:port" (port 1883 where none is stated) or "mqtts://host:port"
// (8883), which is encrypted.
func ParseBroker(text string) (*url.URL, error) {
	u, err := url.Parse(text)
	ports := map[string]string{"mqtt": "1883", "mqtts": "8883"}
	if err != nil || u.Hostname() == "" || ports[u.Scheme] == "" || u.Path != "" && u.Path != "/" || u.RawQuery != "" || u.User != nil {
		return nil, fmt.Errorf(`%.80q leads to no broker; write "mqtt://host:1883" or "mqtts://host:8883", the user apart from it`, text)
	}
	port := u.Port()
	if port == "" {
		port = ports[u.Scheme]
	}
	return &url.URL{Scheme: u.Scheme, Host: net.JoinHostPort(u.Hostname(), port)}, nil
}

// password reads the first line of the password file.
func (l Login) password() ([]byte, error) {
	if l.PasswordFile == "" {
		return nil, nil
	}
	b, err := os.ReadFile(l.PasswordFile)
	if err != nil {
		return nil, fmt.Errorf("the password: %w", err)
	}
	line, _, _ := bytes.Cut(b, []byte("\n"))
	line = bytes.TrimSuffix(line, []byte("\r"))
	if len(line) == 0 {
		return nil, fmt.Errorf("the password: %s has no first line", l.PasswordFile)
	}
	return line, nil
}

// tls reads the certificates. It is nil for a broker that is not encrypted.
func (l Login) tls(broker *url.URL) (*tls.Config, error) {
	if broker.Scheme != "mqtts" {
		if l.CAFile != "" || l.CertFile != "" || l.KeyFile != "" {
			return nil, errors.New("a connection that is not encrypted has no certificates; write mqtts://")
		}
		return nil, nil
	}
	c := &tls.Config{MinVersion: tls.VersionTLS12}
	if l.CAFile != "" {
		b, err := os.ReadFile(l.CAFile)
		if err != nil {
			return nil, fmt.Errorf("the broker's authority: %w", err)
		}
		c.RootCAs = x509.NewCertPool()
		if !c.RootCAs.AppendCertsFromPEM(b) {
			return nil, fmt.Errorf("the broker's authority: %s holds no certificate in PEM", l.CAFile)
		}
	}
	if l.CertFile != "" || l.KeyFile != "" {
		pair, err := tls.LoadX509KeyPair(l.CertFile, l.KeyFile)
		if err != nil {
			return nil, fmt.Errorf("our certificate: %w", err)
		}
		c.Certificates = []tls.Certificate{pair}
	}
	return c, nil
}
