package main

import (
	"context"
	"log/slog"
	"net"
	"path/filepath"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/house"
)

// manager is a service manager's socket.
func manager(t *testing.T) (path string, heard func() string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "notify")
	conn, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: path, Net: "unixgram"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	return path, func() string {
		buf := make([]byte, 100)
		if err := conn.SetReadDeadline(time.Now().Add(5 * time.Second)); err != nil {
			t.Fatal(err)
		}
		n, err := conn.Read(buf)
		if err != nil {
			return err.Error()
		}
		return string(buf[:n])
	}
}

// TestTheServiceManagerIsTold wants it ready only once all houses have ticked, alive only while they
// tick, and stopping at the end.
func TestTheServiceManagerIsTold(t *testing.T) {
	path, heard := manager(t)
	n := newNotifier([]string{"NOTIFY_SOCKET=" + path, "WATCHDOG_USEC=90000", "HOME=/"})
	if n.watchdog != 90*time.Millisecond {
		t.Fatalf("the watchdog's time is read as %v", n.watchdog)
	}
	lower := &controller.Snapshot{Settings: &config.House{House: house.Settings{Name: "lower"}}, Tick: time.Second, Ticked: time.Now()}
	views := make(chan *controller.View, 4)
	views <- &controller.View{Houses: []controller.Shown{{Snapshot: lower}}, Waiting: []string{"upper"}} // alive, not ready
	views <- &controller.View{Houses: []controller.Shown{{Snapshot: lower}}}
	old := *lower
	old.Ticked = time.Now().Add(-time.Minute)
	stuck := &controller.View{Houses: []controller.Shown{{Snapshot: &old}}}
	ctx, stop := context.WithCancel(t.Context())
	seen := 0
	view := func() *controller.View {
		select {
		case v := <-views:
			return v
		default:
		}
		if seen++; seen == 3 {
			stop()
		}
		return stuck
	}
	n.loop(ctx, view, slog.New(slog.DiscardHandler))
	for i, want := range []string{"WATCHDOG=1", "READY=1", "WATCHDOG=1", "STOPPING=1"} {
		if got := heard(); got != want {
			t.Errorf("word %d is %q, want %q", i, got, want)
		}
	}
}

func TestWithoutAServiceManagerNobodyIsTold(t *testing.T) {
	if err := newNotifier([]string{"WATCHDOG_USEC=x"}).tell("READY=1"); err != nil {
		t.Error(err)
	}
	if err := newNotifier([]string{"NOTIFY_SOCKET=/nowhere/notify"}).tell("READY=1"); err == nil {
		t.Error("a socket that is not there is told all the same")
	}
}
