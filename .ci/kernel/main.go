// Command kernel is the first program of an emulated board, in a test of the real daemon on the
// kernel's own GPIO lines. It is built for that test only and never shipped.
//
// It carries out the steps of the file /steps, one a line, and writes on the console what came of
// each; then what its programs said and what the kernel's gpio trace holds; then it powers off.
// What the answers should be is the test's business.
package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// mark begins each line on the console that is meant for the test.
const mark = "board: "

func main() {
	if err := live(); err != nil {
		fmt.Printf("%sfault %v\n", mark, err)
	}
	syscall.Sync()
	if err := syscall.Reboot(syscall.LINUX_REBOOT_CMD_POWER_OFF); err != nil {
		fmt.Printf("%sfault powering off: %v\n", mark, err)
	}
}

// live is the board's life from power on to power off.
func live() error {
	if err := prepare(); err != nil {
		return err
	}
	steps, err := os.ReadFile("/steps")
	if err != nil {
		return err
	}
	b := &board{programs: map[string]*program{}}
	if b.base, err = lineBase(); err != nil {
		return err
	}
	fmt.Printf("%sbase %d\n", mark, b.base)
	for i, step := range strings.Split(strings.TrimSpace(string(steps)), "\n") {
		answer, err := b.do(strings.Fields(step))
		if err != nil {
			answer = "cannot: " + err.Error()
		}
		fmt.Printf("%sanswer %d %s\n", mark, i, answer)
	}
	for name, p := range b.programs {
		p.stop()
		print("output "+name+" ", p.text())
	}
	trace, err := os.ReadFile(tracing + "trace")
	print("trace ", string(trace))
	fmt.Println(mark + "done")
	return err
}

// print writes each line of a text.
func print(what, text string) {
	for line := range strings.Lines(text) {
		fmt.Println(mark + what + strings.TrimRight(line, "\r\n"))
	}
}

const tracing = "/sys/kernel/tracing/"

// prepare mounts what the kernel shows of itself, begins its gpio trace and wakes the loopback.
func prepare() error {
	for _, m := range []struct{ kind, at string }{
		{"proc", "/proc"},
		{"sysfs", "/sys"},
		{"devtmpfs", "/dev"},
		{"tmpfs", "/run"},
		{"debugfs", "/sys/kernel/debug"},
		{"tracefs", "/sys/kernel/tracing"},
	} {
		if err := os.MkdirAll(m.at, 0o755); err != nil {
			return err
		}
		if err := syscall.Mount(m.kind, m.at, m.kind, 0, ""); err != nil {
			return fmt.Errorf("mounting %s: %w", m.at, err)
		}
	}
	if err := os.WriteFile(tracing+"events/gpio/enable", []byte("1"), 0o644); err != nil {
		return err
	}
	return loopback()
}

// lineBase is the number that the kernel's trace gives to line 0 of the board's only chip.
func lineBase() (base int, err error) {
	chips, err := filepath.Glob("/sys/class/gpio/gpiochip*/base")
	if err != nil {
		return 0, err
	}
	if len(chips) != 1 {
		return 0, fmt.Errorf("the board has %d gpio chips; the steps are written for 1", len(chips))
	}
	text, err := os.ReadFile(chips[0])
	if err != nil {
		return 0, err
	}
	_, err = fmt.Sscan(string(text), &base)
	return base, err
}
