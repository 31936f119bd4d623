package main

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"time"
	"unsafe"
)

// program is one that was started.
type program struct {
	command *exec.Cmd
	output  string        // path of what it writes
	ended   chan struct{} // closed when it has ended
}

// start starts a command, which may begin with settings of its environment.
func start(words []string, output string) (*program, error) {
	env := []string{"PATH=/"}
	for len(words) > 1 && strings.Contains(words[0], "=") {
		env, words = append(env, words[0]), words[1:]
	}
	file, err := os.Create(output)
	if err != nil {
		return nil, err
	}
	defer file.Close() // the program has its own
	p := &program{command: exec.Command(words[0], words[1:]...), output: output, ended: make(chan struct{})}
	p.command.Env, p.command.Stdout, p.command.Stderr = env, file, file
	if err := p.command.Start(); err != nil {
		return nil, err
	}
	go func() {
		defer close(p.ended)
		_ = p.command.Wait() // end looks at how it ended
	}()
	return p, nil
}

// endWait is how long a program that should end may take.
const endWait = 20 * time.Second

// end waits until the program has ended and says how.
func (p *program) end() string {
	select {
	case <-p.ended:
	case <-time.After(endWait):
		return "still running"
	}
	status, ok := p.command.ProcessState.Sys().(syscall.WaitStatus)
	if ok && status.Signaled() {
		return status.Signal().String()
	}
	return fmt.Sprintf("exit %d", p.command.ProcessState.ExitCode())
}

// stop ends a program that the steps left running.
func (p *program) stop() {
	_ = p.command.Process.Kill() // one that has ended already stays as it was
	<-p.ended
}

// text is all that the program has written so far.
func (p *program) text() string {
	text, err := os.ReadFile(p.output)
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// loopback brings the loopback interface up: netdevice(7), SIOCSIFFLAGS.
func loopback() error {
	fd, err := syscall.Socket(syscall.AF_INET, syscall.SOCK_DGRAM, 0)
	if err != nil {
		return err
	}
	defer syscall.Close(fd)
	var request struct {
		name  [syscall.IFNAMSIZ]byte
		flags int16
		_     [22]byte // the rest of the kernel's union
	}
	copy(request.name[:], "lo")
	request.flags = syscall.IFF_UP
	_, _, errno := syscall.Syscall(syscall.SYS_IOCTL, uintptr(fd), syscall.SIOCSIFFLAGS, uintptr(unsafe.Pointer(&request)))
	if errno != 0 {
		return fmt.Errorf("loopback: %w", errno)
	}
	return nil
}
