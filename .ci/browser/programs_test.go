// Package browser_test opens the daemon's pages and the printable report in a real Chromium, on a
// phone and on a desk, as a grower does. It has a module of its own: what drives a browser is no part
// of what is shipped.
//
// It always holds that the browser can reach nothing but this host, and that a request for anything
// else fails the test that caused it. What the pages look like is kept in the folder that
// LOAMBANK_TEST_PICTURES names, to be looked at.
package browser_test

import (
	"bytes"
	"context"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// program finds a program that a test runs. Where it is missing the test is skipped, or, with
// LOAMBANK_TEST_PROGRAMS=require, fails.
func program(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		missing(t, name+" is missing; install it to run this test")
	}
	return path
}

func missing(t *testing.T, why string) {
	t.Helper()
	if os.Getenv("LOAMBANK_TEST_PROGRAMS") == "require" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// buildDaemon builds loambank from the checkout that this folder is in.
func buildDaemon(t *testing.T) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "loambank")
	build := exec.CommandContext(t.Context(), "go", "build", "-o", out, "./cmd/loambank")
	build.Dir, build.Env = "../..", append(os.Environ(), "CGO_ENABLED=0")
	if said, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	return out
}

// daemon is loambank at work on a farm of a test, with a state directory that outlasts it. It ends
// with the test.
type daemon struct {
	t               *testing.T
	program, dir    string
	scheme, address string
	command         *exec.Cmd
	said            bytes.Buffer
	done            bool
}

// run starts a daemon on settings in dir, and waits until each of its houses has ticked.
func run(t *testing.T, program, dir, settings string, more ...string) *daemon {
	t.Helper()
	d := &daemon{t: t, program: program, dir: dir, scheme: "http", address: freeAddress(t)}
	write(t, d.file("farm.toml"), settings)
	d.command = exec.CommandContext(context.WithoutCancel(t.Context()), program, append([]string{"run", "--config", "farm.toml"}, more...)...)
	d.command.Dir, d.command.Env = dir, d.environ()
	d.command.Stdout, d.command.Stderr = &d.said, &d.said
	if err := d.command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		d.end(syscall.SIGKILL)
		if t.Failed() {
			t.Logf("the daemon said:\n%s", d.said.Bytes()[max(0, d.said.Len()-2000):])
		}
	})
	eventually(t, "the first ticks", func() bool {
		_, err := os.Stat(d.file("state/hand.sock"))
		return err == nil && (len(more) > 0 && more[0] == "--web-config" || d.ready())
	})
	return d
}

func (d *daemon) ready() bool {
	r, err := http.Get(d.url("/readyz"))
	if err != nil {
		return false
	}
	defer r.Body.Close()
	return r.StatusCode == http.StatusOK
}

func (d *daemon) environ() []string {
	return append(os.Environ(), "LOAMBANK_LISTEN="+d.address, "LOAMBANK_STATE_DIR="+d.file("state"))
}

func (d *daemon) url(path string) string  { return d.scheme + "://" + d.address + path }
func (d *daemon) file(name string) string { return filepath.Join(d.dir, name) }

// end signals the daemon and waits for its end.
func (d *daemon) end(how syscall.Signal) {
	d.t.Helper()
	if d.done {
		return
	}
	d.done = true
	if err := d.command.Process.Signal(how); err != nil {
		d.t.Error(err)
	}
	if err := d.command.Wait(); err != nil && how != syscall.SIGKILL {
		d.t.Errorf("a daemon that is stopped: %v", err)
	}
}

// asked runs another command of the program beside the daemon.
func (d *daemon) asked(args ...string) string {
	d.t.Helper()
	c := exec.CommandContext(d.t.Context(), d.program, args...)
	c.Dir, c.Env = d.dir, d.environ()
	said, err := c.CombinedOutput()
	if err != nil {
		d.t.Fatalf("loambank %v: %v\n%s", args, err, said)
	}
	return string(said)
}

func write(t *testing.T, file, text string) {
	t.Helper()
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// freeAddress returns an address of loopback that nobody listens on.
func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// eventually asks until is says yes: other programs take their time. what names what is waited for.
func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for !is() {
		select {
		case <-again.C:
		case <-ctx.Done():
			t.Fatalf("waited a minute in vain for %s", what)
		}
	}
}
