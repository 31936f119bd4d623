package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"sync/atomic"
	"syscall"
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/hand"
	"loambank/controller/web"
)

type runCommand struct {
	Config    string  `help:"Settings file." default:"/etc/loambank/farm.toml"`
	WebConfig string  `help:"Web settings file: TLS, passwords, client certificates. Without it plain HTTP."`
	Speed     float64 `help:"Run the clock this many times as fast; only with files and models." default:"1"`
}

// Help shows an example.
func (runCommand) Help() string {
	return "Example:\n\n  loambank run --config farm.toml\n\n" +
		"Stops on SIGTERM or Ctrl-C with every fan off. SIGHUP reads the settings again: what has not\n" +
		"changed runs on untouched, and a file with faults changes nothing. Where the file has faults at\n" +
		"the start, the settings that last worked are used. The status page stands at the listen address,\n" +
		"metrics at /metrics, health at /healthz and /readyz, everything as JSON at /api/v1/farm.\n\n" +
		"--web-config FILE is the web configuration of Prometheus exporters: tls_server_config,\n" +
		"basic_auth_users, rate_limit. With TLS, whom hand_users of the settings names may POST orders to\n" +
		"/hand. A file with faults leaves the farm running and nothing served."
}

// Run runs the farm.
func (c *runCommand) Run(w *world) error {
	if c.Speed <= 0 {
		return errors.New("--speed must be over 0; 1 is real time")
	}
	leanHeap()
	log := slog.New(slog.NewTextHandler(w.stderr, nil))
	hangups := make(chan os.Signal, 1) // from the very start: one that nobody takes would end the program
	signal.Notify(hangups, syscall.SIGHUP)
	defer signal.Stop(hangups)
	s, err := load(w, c.Config)
	faulty := err != nil
	if faulty {
		good, none := lastGood(w)
		if none != nil {
			return err
		}
		log.Error("the settings do not load; those that last worked are used", keyError, err)
		s = good
	}
	warn(log, s)
	leanFile() // so that what the settings wanted and what the farm wants never stand there together
	options := controller.Options{Log: log, StateDir: s.StateDir}
	if c.Speed != 1 {
		options.Clock = controller.Scaled(c.Speed, time.Now())
	}
	listener, err := net.Listen("tcp", s.Listen)
	if err != nil {
		return fmt.Errorf("listen address %s: %w; choose another listen address", s.Listen, err)
	}
	farm, err := controller.New(w.ctx, s, options)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	if faulty {
		farm.KeptOld()
	}
	leanFile()
	var inForce atomic.Pointer[config.Settings]
	inForce.Store(s)
	served := serve(listener, site(farm, &inForce, s.StateDir, log), web.Options{
		ConfigFile: c.WebConfig, Listen: s.Listen, Hostname: hostname(), Log: log,
	})
	hups := c.reloadOn(hangups, w, farm, &inForce, log)
	orders := takeOrders(s.StateDir, farm, log)
	told := aside(func(ctx context.Context) { publish(ctx, farm.View, inForce.Load, log) })
	notify := aside(func(ctx context.Context) { newNotifier(w.environ).loop(ctx, farm.View, log) })
	lean := aside(stayLean)
	log.Info("running", "listen", listener.Addr().String(), "houses", len(s.Houses))

	err = farm.Run(w.ctx)
	for _, stop := range []func(){lean, notify, told, hups, orders, served} {
		stop()
	}
	if err != nil {
		log.Error("stopped, not everything is off or kept")
		return err
	}
	log.Info("stopped, fans off")
	return nil
}

const keyError = "err"

func warn(log *slog.Logger, s *config.Settings) {
	for _, warning := range s.Warnings {
		log.Warn("legal but foolish", "where", warning.String())
	}
}

// aside runs f beside the farm until stop is called, which waits for its end.
func aside(f func(context.Context)) (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		f(ctx)
	}()
	return func() {
		cancel()
		<-done
	}
}

// reloadOn reads the settings again on each SIGHUP until stop is called.
func (c *runCommand) reloadOn(hangups <-chan os.Signal, w *world, farm *controller.Controller, inForce *atomic.Pointer[config.Settings], log *slog.Logger) (stop func()) {
	return aside(func(ctx context.Context) {
		for {
			select {
			case <-hangups:
				c.reload(w, farm, inForce, log)
			case <-ctx.Done():
				return
			}
		}
	})
}

func (c *runCommand) reload(w *world, farm *controller.Controller, inForce *atomic.Pointer[config.Settings], log *slog.Logger) {
	s, err := load(w, c.Config)
	if err != nil {
		farm.KeptOld()
		log.Error("settings not reloaded, the old ones stay in force", keyError, err)
		return
	}
	warn(log, s)
	if err := farm.Reload(s); err != nil {
		if !errors.Is(err, controller.ErrEnded) {
			log.Error("settings not reloaded, the old ones stay in force", keyError, err)
		}
		return
	}
	inForce.Store(s)
}

// takeOrders answers orders by hand until stop is called. A farm without them runs all the same.
func takeOrders(dir string, farm *controller.Controller, log *slog.Logger) (stop func()) {
	listener, err := hand.Listen(hand.SocketPath(dir))
	if err != nil {
		log.Error("no orders by hand are taken", keyError, err)
		return func() {}
	}
	return aside(func(ctx context.Context) { hand.Serve(ctx, listener, farm, log) })
}
