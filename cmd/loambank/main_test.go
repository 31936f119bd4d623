package main

import (
	"bytes"
	"context"
	"flag"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the golden output in the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"loambank": main})
}

// TestScripts runs the commands as a user would: each script holds its files and what is printed.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script", UpdateScripts: *update, RequireExplicitExec: true, RequireUniqueNames: true,
		Setup: func(env *testscript.Env) error {
			for _, name := range []string{"FREE", "ALSO"} { // addresses to listen on
				l, err := net.Listen("tcp", "127.0.0.1:0")
				if err != nil {
					return err
				}
				env.Setenv(name, l.Addr().String())
				if err := l.Close(); err != nil {
					return err
				}
			}
			root, err := filepath.Abs(filepath.Join("..", "..", "testdata"))
			if err != nil {
				return err
			}
			env.Setenv("TESTDATA", root)
			env.Setenv("GORACE", os.Getenv("GORACE")) // what a command built with -race does at its end
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"waitfor": waitFor},
	})
}

// waitFor waits until a file is there, such as a daemon's socket.
func waitFor(ts *testscript.TestScript, _ bool, args []string) {
	for range 500 {
		if _, err := os.Stat(ts.MkAbs(args[0])); err == nil {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	ts.Fatalf("%s does not come", args[0])
}

func TestExitCodes(t *testing.T) {
	root := filepath.Join("..", "..", "testdata")
	farm := filepath.Join(root, "config", "example.toml")
	bad := filepath.Join(t.TempDir(), "bad.toml")
	if err := os.WriteFile(bad, []byte("zone = \"Nowhere/Else\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		args string
		want int
	}{
		{"a good file is good", "check " + farm, exitGood},
		{"a faulty file is a no", "check " + bad, exitNo},
		{"a missing file could not be had", "check " + bad + ".missing", exitCannot},
		{"no command is wrong usage", "", exitUsage},
		{"an unknown command is wrong usage", "chekc " + farm, exitUsage},
		{"an unknown flag is wrong usage", "check --fast " + farm, exitUsage},
		{"a missing argument is wrong usage", "check", exitUsage},
		{"help is good", "--help", exitGood},
		{"help of a command is good", "replay --help", exitGood},
		{"version is good", "version", exitGood},
		{"a missing recording could not be had", "replay --config " + farm + " --data missing.csv", exitCannot},
		{"a faulty config stops a replay with a no", "replay --config " + bad + " --data missing.csv", exitNo},
		{"a time that is none could not be used", "replay --config " + farm + " --data x --from yesterday", exitCannot},
		{"a faulty config stops run with a no", "run --config " + bad, exitNo},
	} {
		t.Run(c.name, func(t *testing.T) {
			var stdout, stderr bytes.Buffer
			got := run(context.Background(), strings.Fields(c.args), &stdout, &stderr)
			if got != c.want {
				t.Errorf("exit code %d, want %d\nstdout: %s\nstderr: %s", got, c.want, &stdout, &stderr)
			}
			if (got == exitGood) != (stderr.Len() == 0) {
				t.Errorf("exit code %d with stderr %q", got, &stderr)
			}
		})
	}
}

// TestReadme runs every command of the README's shell blocks that calls loambank.
func TestReadme(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(text), "\n"); n > 120 {
		t.Errorf("README.md has %d lines, at most 120 are read", n)
	}
	t.Chdir("../..")
	ran := 0
	for _, block := range strings.Split(string(text), "```sh\n")[1:] {
		block, _, _ = strings.Cut(block, "```")
		block = strings.ReplaceAll(block, "\\\n", " ")
		for line := range strings.Lines(block) {
			args, ours := strings.CutPrefix(strings.TrimSpace(line), "go run ./cmd/loambank ")
			if !ours {
				continue
			}
			ran++
			if args == "demo" {
				args += " --days 0.5" // half a day shows that it runs
			}
			var stdout, stderr bytes.Buffer
			if code := run(t.Context(), strings.Fields(args), &stdout, &stderr); code != exitGood {
				t.Errorf("README command %q exits with %d: %s", args, code, &stderr)
			}
		}
	}
	if ran == 0 {
		t.Error("README.md shows no command of ours")
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", ""},
		{"one", "one"},
		{"house 38 °F soil", "house 38 °F\n  soil"},
		{"averyveryverylongword x", "averyveryverylongword\n  x"},
	} {
		if got := wrap(c.text, 12, 2); got != c.want {
			t.Errorf("wrap(%q) is %q, want %q", c.text, got, c.want)
		}
	}
}

// broken is a writer with a defect.
type broken struct{}

func (broken) Write([]byte) (int, error) { panic("a defect") }

func TestADefectDoesNotPassForAGoodEnd(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("the panic was swallowed")
		}
	}()
	code := run(context.Background(), []string{"version"}, broken{}, broken{})
	t.Errorf("ends with %d", code)
}
