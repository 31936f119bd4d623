package web

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	toolkit "github.com/prometheus/exporter-toolkit/web"
)

// Bounds on what anyone may send and hold.
const (
	maxConnections = 256
	maxStreams     = 32 // of one HTTP/2 connection
	maxHeaderBytes = 16 << 10
	headerTime     = 5 * time.Second
	readTime       = 10 * time.Second
	writeTime      = 30 * time.Second
	idleTime       = 2 * time.Minute
)

// Options is what a server is made from. Only Log is needed.
type Options struct {
	// ConfigFile is the web settings file; empty is plain HTTP without passwords.
	ConfigFile string
	// Listen is the address of the settings, "host:port"; its host is one of the names the
	// server answers to over plain HTTP.
	Listen string
	// Hostname is this machine's name, as os.Hostname tells it; empty is none.
	Hostname string
	Log      *slog.Logger
}

// Server serves one listener.
type Server struct {
	server *http.Server
	file   string
	log    *slog.Logger
}

// New makes a server of the pages. An error tells what is wrong with the web settings file.
func New(pages http.Handler, o Options) (*Server, error) {
	if err := toolkit.Validate(o.ConfigFile); err != nil {
		return nil, fmt.Errorf("web settings %s: %w", o.ConfigFile, err)
	}
	return &Server{
		server: &http.Server{
			Handler:           guard(pages, names(o.Listen, o.Hostname)),
			ReadHeaderTimeout: headerTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
			MaxHeaderBytes: maxHeaderBytes, HTTP2: &http.HTTP2Config{MaxConcurrentStreams: maxStreams},
			ErrorLog: slog.NewLogLogger(o.Log.Handler(), slog.LevelDebug), // strangers' faults
		},
		file: o.ConfigFile, log: slog.New(louder{o.Log.Handler()}),
	}, nil
}

// Serve answers requests on l until Close, then returns http.ErrServerClosed. It closes l.
func (s *Server) Serve(l net.Listener) error {
	defer l.Close()
	bounded := newBounded(l, maxConnections)
	return toolkit.Serve(bounded, s.server, &toolkit.FlagConfig{WebConfigFile: &s.file}, s.log)
}

// Close ends Serve and every connection.
func (s *Server) Close() error { return s.server.Close() }

// louder lets warnings and errors through: what the toolkit tells besides is no news of the farm.
type louder struct{ slog.Handler }

// Enabled reports whether a level is loud enough.
func (l louder) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelWarn && l.Handler.Enabled(ctx, level)
}
