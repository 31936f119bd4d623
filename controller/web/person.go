package web

import (
	"context"
	"net/http"
)

// asked marks a question about a request, which the pages do not see.
type asked struct{}

// person returns who sent a request and has proved it: the user whose password was checked, else the
// common name of a client certificate that was verified. It is empty for everybody else.
//
// The web settings file may have changed since the request came in, and whether a name was checked
// at all only the toolkit's handler knows. So it is asked: it must turn away the same request without
// a password, and let it pass with the one given.
func person(r *http.Request) string {
	if r.TLS == nil {
		return ""
	}
	if user, _, given := r.BasicAuth(); given {
		server, _ := r.Context().Value(http.ServerContextKey).(*http.Server)
		if server == nil || server.Handler == nil {
			return ""
		}
		without := r.Clone(r.Context())
		without.Header.Del("Authorization")
		if passes(server.Handler, without) == http.StatusUnauthorized && passes(server.Handler, r) == http.StatusAccepted {
			return user
		}
	}
	if len(r.TLS.VerifiedChains) > 0 && len(r.TLS.PeerCertificates) > 0 {
		return r.TLS.PeerCertificates[0].Subject.CommonName
	}
	return ""
}

// passes asks a handler about a request and returns its status, http.StatusAccepted from the guard
// at its end.
func passes(h http.Handler, r *http.Request) int {
	var status status
	h.ServeHTTP(&status, r.WithContext(context.WithValue(r.Context(), asked{}, true)))
	return status.code
}

// status is a response of which only the status is kept.
type status struct {
	header http.Header
	code   int
}

// Header returns headers that nobody reads.
func (s *status) Header() http.Header {
	if s.header == nil {
		s.header = http.Header{}
	}
	return s.header
}

// Write takes a body that nobody reads.
func (s *status) Write(p []byte) (int, error) {
	s.WriteHeader(http.StatusOK)
	return len(p), nil
}

// WriteHeader keeps the first status.
func (s *status) WriteHeader(code int) {
	if s.code == 0 {
		s.code = code
	}
}
