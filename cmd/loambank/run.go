package main

import (
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	"loambank/controller"
	"loambank/controller/export"
)

type runCommand struct {
	Config string  `help:"Settings file." default:"/etc/loambank/farm.toml"`
	Speed  float64 `help:"Run the clock this many times as fast; only with files and models." default:"1"`
}

// Help shows an example.
func (runCommand) Help() string {
	return "Example:\n\n  loambank run --config farm.toml\n\n" +
		"Stops on SIGTERM or Ctrl-C with every fan off. Metrics stand at /metrics of the listen address."
}

// Run runs the farm.
func (c *runCommand) Run(w *world) error {
	s, err := load(w, c.Config)
	if err != nil {
		return err
	}
	if c.Speed <= 0 {
		return errors.New("--speed must be over 0; 1 is real time")
	}
	log := slog.New(slog.NewTextHandler(w.stderr, nil))
	for _, warning := range s.Warnings {
		log.Warn("legal but foolish", "where", warning.String())
	}
	var clock controller.Clock
	if c.Speed != 1 {
		clock = controller.Scaled(c.Speed, time.Now())
	}
	listener, err := net.Listen("tcp", s.Listen)
	if err != nil {
		return fmt.Errorf("listen address %s: %w; choose another listen address", s.Listen, err)
	}
	farm, err := controller.New(w.ctx, s, clock, log)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	server := &http.Server{Handler: export.Handler(farm.Snapshots), ReadHeaderTimeout: 5 * time.Second}
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()
	log.Info("running", "listen", listener.Addr().String(), "houses", len(s.Houses))

	err = farm.Run(w.ctx)
	err = errors.Join(err, server.Close())
	if fault := <-served; !errors.Is(fault, http.ErrServerClosed) {
		err = errors.Join(err, fault)
	}
	log.Info("stopped, fans off")
	return err
}
