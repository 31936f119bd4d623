// Package deploy_test runs what this folder ships with the programs it is meant for: rules and scrape
// settings with promtool and Prometheus, the dashboard's queries against a Prometheus that scrapes
// the daemon on simulated houses.
package deploy_test

import (
	"bytes"
	"context"
	"net"
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
	if err == nil {
		return path
	}
	if os.Getenv("LOAMBANK_TEST_PROGRAMS") == "require" {
		t.Fatalf("%s is missing; install it, or leave LOAMBANK_TEST_PROGRAMS unset to skip what needs it", name)
	}
	t.Skipf("%s is missing; install it to run this test", name)
	return ""
}

// buildDaemon builds loambank as it is shipped, with prometheus at hand to scrape it.
func buildDaemon(t *testing.T) string {
	t.Helper()
	program(t, "prometheus")
	out := filepath.Join(t.TempDir(), "loambank")
	build := exec.CommandContext(t.Context(), "go", "build", "-o", out, "loambank/cmd/loambank")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if said, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	return out
}

// process is a program that runs beside the test. It is killed with the test.
type process struct {
	t       *testing.T
	command *exec.Cmd
	said    bytes.Buffer
	done    bool
}

func start(t *testing.T, env []string, name string, args ...string) *process {
	t.Helper()
	p := &process{t: t, command: exec.CommandContext(context.WithoutCancel(t.Context()), name, args...)}
	p.command.Env = append(os.Environ(), env...)
	p.command.Stdout, p.command.Stderr = &p.said, &p.said
	if err := p.command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		p.end(syscall.SIGKILL)
		if t.Failed() {
			t.Logf("%s said:\n%s", filepath.Base(name), p.said.Bytes()[:min(p.said.Len(), 4000)])
		}
	})
	return p
}

// end signals the process and waits for its end.
func (p *process) end(how os.Signal) error {
	p.t.Helper()
	if p.done {
		return nil
	}
	p.done = true
	if err := p.command.Process.Signal(how); err != nil {
		p.t.Error(err)
	}
	return p.command.Wait()
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
	within(t, 30*time.Second, what, is)
}

func within(t *testing.T, longest time.Duration, what string, is func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), longest)
	defer cancel()
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for !is() {
		select {
		case <-again.C:
		case <-ctx.Done():
			t.Fatalf("waited %v in vain for %s", longest, what)
		}
	}
}
