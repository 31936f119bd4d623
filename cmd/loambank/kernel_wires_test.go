package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"strings"
	"syscall"
)

// wires puts the lines of an emulated board at a level from outside, as a contact or a meter does.
// The kernel finds the level, and its changes, in the registers of its gpio chip.
type wires struct {
	pins net.Conn // the emulator's test protocol, its docs/devel/qtest.rst
	ask  net.Conn // and its machine protocol, docs/interop/qmp-spec.txt
	chip string   // where it has the gpio chip; "" before it was asked
}

// newWires gives the emulator that command will start the far ends of two sockets.
func newWires(command *exec.Cmd) (*wires, error) {
	w := &wires{}
	for _, s := range []struct {
		name string
		near *net.Conn
		args []string
	}{
		{"qtest", &w.pins, []string{"-qtest", "chardev:qtest", "-qtest-log", "none"}},
		{"qmp", &w.ask, []string{"-mon", "chardev=qmp,mode=control"}},
	} {
		near, far, err := sockets(s.name)
		if err != nil {
			return nil, errors.Join(err, w.close())
		}
		*s.near = near
		number := 3 + len(command.ExtraFiles)
		command.ExtraFiles = append(command.ExtraFiles, far)
		command.Args = append(command.Args, "-chardev", fmt.Sprintf("socket,id=%s,fd=%d", s.name, number))
		command.Args = append(command.Args, s.args...)
	}
	return w, nil
}

// sockets returns two ends of one.
func sockets(name string) (net.Conn, *os.File, error) {
	ends, err := syscall.Socketpair(syscall.AF_UNIX, syscall.SOCK_STREAM|syscall.SOCK_CLOEXEC, 0)
	if err != nil {
		return nil, nil, err
	}
	near, far := os.NewFile(uintptr(ends[0]), name), os.NewFile(uintptr(ends[1]), name)
	defer near.Close() // conn has its own
	conn, err := net.FileConn(near)
	if err != nil {
		return nil, nil, errors.Join(err, far.Close())
	}
	return conn, far, nil
}

// put puts a line at a level, "lo" or "hi".
func (w *wires) put(line, level string) error {
	if w.chip == "" {
		if err := w.find(); err != nil {
			return err
		}
	}
	digit := map[string]string{"lo": "0", "hi": "1"}[level]
	if _, err := fmt.Fprintf(w.pins, "set_irq_in %s unnamed-gpio-in %s %s\n", w.chip, line, digit); err != nil {
		return err
	}
	answer, err := bufio.NewReader(w.pins).ReadString('\n')
	if err == nil && strings.TrimSpace(answer) != "OK" {
		err = fmt.Errorf("the emulator puts line %s to %q: %s", line, level, answer)
	}
	return err
}

// find asks the emulator where it has its only gpio chip, an ARM PL061.
func (w *wires) find() error {
	const devices = "/machine/unattached"
	in := json.NewDecoder(w.ask)
	for _, question := range []string{
		`{"execute": "qmp_capabilities"}`,
		`{"execute": "qom-list", "arguments": {"path": "` + devices + `"}}`,
	} {
		if _, err := fmt.Fprintln(w.ask, question); err != nil {
			return err
		}
		var answer struct {
			Return json.RawMessage `json:"return"`
			Error  json.RawMessage `json:"error"`
		}
		for answer.Return == nil { // its greeting and its events are none
			if err := in.Decode(&answer); err != nil {
				return err
			}
			if answer.Error != nil {
				return fmt.Errorf("the emulator answers %s: %s", question, answer.Error)
			}
		}
		var all []struct{ Name, Type string }
		if json.Unmarshal(answer.Return, &all) != nil {
			continue // the first answer is no list
		}
		for _, device := range all {
			if device.Type == "child<pl061>" {
				w.chip = devices + "/" + device.Name
				return nil
			}
		}
	}
	return errors.New("the emulator has no pl061")
}

// close lets the sockets go.
func (w *wires) close() error {
	var faults []error
	for _, c := range []net.Conn{w.pins, w.ask} {
		if c != nil {
			faults = append(faults, c.Close())
		}
	}
	return errors.Join(faults...)
}
