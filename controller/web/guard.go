package web

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// maxBodyBytes bounds what is sent with a request.
const maxBodyBytes = 4 << 10

// policy lets a browser load only what this host serves, and no page of others show it in a frame.
const policy = "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// homeDomains are those that no public name server answers for: RFC 6762, RFC 8375, ICANN's
// reservation of .internal in 2024; .lan is common practice, no source.
var homeDomains = []string{"local", "home.arpa", "internal", "lan"}

// guard bounds requests, sets headers, and answers only to names.
//
// A page of a stranger whose name server points that name at this board (DNS rebinding) could read
// everything here from a browser on the farm. Its requests carry the stranger's name. Over TLS the
// browser has seen by the certificate that the name is ours; an address is no name.
func guard(next http.Handler, names []string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Context().Value(asked{}) != nil { // see person
			w.WriteHeader(http.StatusAccepted)
			return
		}
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		if r.TLS == nil && !ours(r.Host, names) {
			http.Error(w, fmt.Sprintf("this board is not %.60q; ask for it by its address or as %s, or serve TLS",
				r.Host, strings.Join(names, ", ")), http.StatusMisdirectedRequest)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, maxBodyBytes)
		next.ServeHTTP(w, r)
	})
}

// names are what the board may be called by: localhost, the host it listens at, its own name, and
// that name in the domains of home networks.
func names(listen, hostname string) []string {
	all := []string{"localhost"}
	add := func(name string) {
		if name != "" && !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	if host, _, err := net.SplitHostPort(listen); err == nil && !isAddress(host) {
		add(plain(host))
	}
	hostname = plain(hostname)
	add(hostname)
	short, _, _ := strings.Cut(hostname, ".")
	add(short)
	for _, domain := range homeDomains {
		if short != "" && short != "localhost" {
			add(short + "." + domain)
		}
	}
	return all
}

// ours reports whether a Host header is an address or one of names, with or without a port.
func ours(host string, names []string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	return isAddress(host) || slices.Contains(names, plain(host))
}

func isAddress(host string) bool {
	_, err := netip.ParseAddr(host)
	return err == nil
}

// plain is a host's name as it is compared.
func plain(host string) string { return strings.ToLower(strings.TrimSuffix(host, ".")) }
