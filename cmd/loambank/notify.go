package main

import (
	"context"
	"log/slog"
	"net"
	"strconv"
	"strings"
	"time"

	"loambank/controller"
)

// notifier tells the service manager how the daemon fares, as sd_notify(3) describes: a datagram to
// the socket it names in the environment. Without one it tells nobody.
type notifier struct {
	socket   string
	watchdog time.Duration // how soon it wants to hear of us, 0 is never
}

func newNotifier(environ []string) notifier {
	var n notifier
	for _, pair := range environ {
		if path, ok := strings.CutPrefix(pair, "NOTIFY_SOCKET="); ok {
			n.socket = path
		}
		if us, ok := strings.CutPrefix(pair, "WATCHDOG_USEC="); ok {
			if v, err := strconv.ParseInt(us, 10, 64); err == nil && v > 0 {
				n.watchdog = time.Duration(v) * time.Microsecond
			}
		}
	}
	return n
}

// tell sends one state, such as "READY=1".
func (n notifier) tell(state string) error {
	if n.socket == "" {
		return nil
	}
	name := n.socket
	if rest, ok := strings.CutPrefix(name, "@"); ok {
		name = "\x00" + rest // Linux' abstract names
	}
	conn, err := net.DialUnix("unixgram", nil, &net.UnixAddr{Name: name, Net: "unixgram"})
	if err != nil {
		return err
	}
	defer conn.Close()
	_, err = conn.Write([]byte(state))
	return err
}

// loop reports the farm as ready once every house has ticked, and as alive while every house ticks,
// until ctx is done: a house that stands still lets the service manager start the daemon anew.
func (n notifier) loop(ctx context.Context, view func() *controller.View, log *slog.Logger) {
	every := time.Second
	if n.watchdog > 0 {
		every = min(every, n.watchdog/3)
	}
	ready, failed := false, false
	tell := func(state string) {
		err := n.tell(state)
		if err != nil && !failed {
			log.Warn("the service manager cannot be told", keyError, err)
		}
		failed = err != nil
	}
	for {
		v := view()
		if !ready && len(v.Waiting) == 0 {
			ready = true
			tell("READY=1")
		}
		if n.watchdog > 0 && len(v.Stuck(time.Now())) == 0 {
			tell("WATCHDOG=1")
		}
		select {
		case <-ctx.Done():
			tell("STOPPING=1")
			return
		case <-time.After(every):
		}
	}
}
