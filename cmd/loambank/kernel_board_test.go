package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// boot is the longest that an emulated board may live.
const boot = 3 * time.Minute

// board is what an emulated board told.
type board struct {
	answers []string            // to each step
	figures map[string][]string // the answers to each that wants none, in their order
	output  string              // of the programs it ran, each line with its name before it
	base    int                 // the kernel's number of line 0
	trace   []event
}

// step is what a board is told to do, and the answer it should give. Without one it is a figure.
type step struct{ step, want string }

// event is one line of the kernel's gpio trace.
type event struct {
	by      string // the thread that asked
	seconds float64
	kind    string // "gpio_value", "gpio_direction" or "tracing_mark_write"
	what    string // "505 set 1", "505 out (0)", "mark start"
}

// kernelImage returns the arm64 kernel to boot. Without it, or without its emulator, the test is
// skipped, or, with LOAMBANK_TEST_PROGRAMS=require, fails.
func kernelImage(t *testing.T) string {
	t.Helper()
	image := os.Getenv("LOAMBANK_TEST_KERNEL")
	_, err := os.Stat(image)
	if image == "" {
		err = errors.New("LOAMBANK_TEST_KERNEL names no arm64 kernel image, as .ci/run does")
	}
	if err == nil {
		_, err = exec.LookPath("qemu-system-aarch64")
	}
	switch {
	case err == nil:
		return image
	case os.Getenv("LOAMBANK_TEST_PROGRAMS") == "require":
		t.Fatalf("%v; leave LOAMBANK_TEST_PROGRAMS unset to skip what needs it", err)
	}
	t.Skipf("%v", err)
	return ""
}

// newBoard builds the daemon as it is shipped, boots a board with it and the files, has it carry out
// the steps of a story and compares the answers.
func newBoard(t *testing.T, image string, files map[string]string, story []step) *board {
	t.Helper()
	var steps []string
	for _, s := range story {
		steps = append(steps, s.step)
	}
	dir := t.TempDir()
	content := map[string][]byte{
		"init":     build(t, dir, filepath.Join("..", "..", ".ci"), "./kernel"),
		"loambank": build(t, dir, ".", "."),
		"steps":    []byte(strings.Join(steps, "\n") + "\n"),
	}
	for name, text := range files {
		content[name] = []byte(text)
	}
	packed, err := initramfs(content)
	if err != nil {
		t.Fatal(err)
	}
	initrd := filepath.Join(dir, "initramfs")
	if err := os.WriteFile(initrd, packed, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), boot)
	defer cancel()
	// Its clock stands at 1970, as on a board without a battery. No network.
	console, err := live(exec.CommandContext(ctx, "qemu-system-aarch64",
		"-M", "virt", "-accel", "tcg", "-cpu", "cortex-a53", "-m", "512", "-display", "none", "-serial", "stdio",
		"-monitor", "none", "-nic", "none", "-no-reboot", "-rtc", "base=1970-01-01T00:00:00",
		"-kernel", image, "-initrd", initrd,
		"-append", "console=ttyAMA0 quiet loglevel=1 panic=-1"))
	b := parseConsole(t, console)
	if err != nil || b == nil {
		t.Fatalf("the board did not live to its end: %v\n%s", err, console)
	}
	b.figures = map[string][]string{}
	for i, s := range story {
		switch {
		case i >= len(b.answers):
			t.Fatalf("no answer to step %q", s.step)
		case s.want == "":
			b.figures[s.step] = append(b.figures[s.step], b.answers[i])
		case b.answers[i] != s.want:
			t.Errorf("step %q: %s\nwant %s", s.step, b.answers[i], s.want)
		}
	}
	return b
}

// live runs a board to its end and returns its console. Whenever the board asks for a level on one of
// its wires, that is put there and a line typed on the console, for which it waits.
func live(emulator *exec.Cmd) (console string, err error) {
	w, err := newWires(emulator)
	if err != nil {
		return "", err
	}
	defer w.close() // nobody is there any more
	keyboard, err := emulator.StdinPipe()
	if err != nil {
		return "", err
	}
	screen, err := emulator.StdoutPipe()
	if err != nil {
		return "", err
	}
	var complaints strings.Builder
	emulator.Stderr = &complaints
	err = emulator.Start()
	for _, far := range emulator.ExtraFiles {
		far.Close() // the emulator has its own
	}
	if err != nil {
		return "", err
	}
	for in := bufio.NewReader(screen); ; {
		line, end := in.ReadString('\n')
		console += line
		if end != nil {
			break
		}
		if _, wire, ok := strings.Cut(line, "board: wire "); ok && err == nil {
			number, level, _ := strings.Cut(strings.TrimSpace(wire), " ")
			if err = w.put(number, level); err == nil {
				_, err = io.WriteString(keyboard, "\n")
			}
			if err != nil {
				emulator.Process.Kill() // it would wait for ever
			}
		}
	}
	return console + complaints.String(), errors.Join(err, emulator.Wait())
}

// build builds a program of the module in dir for the board, and returns it.
func build(t *testing.T, to, dir, pkg string) []byte {
	t.Helper()
	path := filepath.Join(to, "program")
	command := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", path, pkg)
	command.Dir = dir
	command.Env = append(os.Environ(), "GOOS=linux", "GOARCH=arm64", "CGO_ENABLED=0", "GOFLAGS=")
	if text, err := command.CombinedOutput(); err != nil {
		t.Fatalf("building %s: %v\n%s", pkg, err, text)
	}
	program, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return program
}

// traceLine is "loambank-123 [000] ..... 2.345678: gpio_value: 505 set 1".
var traceLine = regexp.MustCompile(`^\s*(\S.*)-\d+\s+\[\d+\]\s+\S+\s+([0-9.]+): (\w+): (.*)$`)

// parseConsole returns what the board told, nil where it did not come to its end.
func parseConsole(t *testing.T, console string) *board {
	t.Helper()
	b := &board{}
	done := false
	for line := range strings.Lines(console) {
		_, told, ok := strings.Cut(strings.TrimRight(line, "\r\n"), "board: ")
		if !ok {
			continue
		}
		kind, rest, _ := strings.Cut(told, " ")
		switch kind {
		case "answer":
			_, answer, _ := strings.Cut(rest, " ")
			b.answers = append(b.answers, answer)
		case "base":
			n, err := strconv.Atoi(rest)
			if err != nil {
				t.Fatal(err)
			}
			b.base = n
		case "output":
			b.output += rest + "\n"
		case "trace":
			if m := traceLine.FindStringSubmatch(rest); m != nil {
				s, err := strconv.ParseFloat(m[2], 64)
				if err != nil {
					t.Fatal(err)
				}
				b.trace = append(b.trace, event{by: m[1], seconds: s, kind: m[3], what: m[4]})
			}
		case "fault":
			t.Errorf("the board says: %s", rest)
		case "done":
			done = true
		}
	}
	if !done {
		return nil
	}
	return b
}
