package controller

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
	"unsafe"
)

// Of seccomp(2) and prctl(2).
const (
	prSetNoNewPrivs   = 38
	prSetSeccomp      = 22
	seccompModeFilter = 2
	seccompRetErrno   = 0x00050000
	seccompRetAllow   = 0x7fff0000
)

// refuseAdjtimex makes adjtimex(2) fail on this thread for good, as the system call filter of the
// daemon's unit does. The thread must end with the test.
func refuseAdjtimex() error {
	filter := []syscall.SockFilter{
		{Code: syscall.BPF_LD | syscall.BPF_W | syscall.BPF_ABS}, // the number of the call
		{Code: syscall.BPF_JMP | syscall.BPF_JEQ | syscall.BPF_K, K: syscall.SYS_ADJTIMEX, Jf: 1},
		{Code: syscall.BPF_RET | syscall.BPF_K, K: seccompRetErrno | uint32(syscall.EPERM)},
		{Code: syscall.BPF_RET | syscall.BPF_K, K: seccompRetAllow},
	}
	program := syscall.SockFprog{Len: uint16(len(filter)), Filter: &filter[0]}
	if _, _, no := syscall.RawSyscall6(syscall.SYS_PRCTL, prSetNoNewPrivs, 1, 0, 0, 0, 0); no != 0 {
		return no
	}
	if _, _, no := syscall.RawSyscall6(syscall.SYS_PRCTL, prSetSeccomp, seccompModeFilter, uintptr(unsafe.Pointer(&program)), 0, 0, 0); no != 0 {
		return no
	}
	return nil
}

// TestTheClockIsToldUnderTheUnitsFilter has the kernel refuse the question whether the clock is set:
// then the file of the unit that may ask is believed, and nothing else.
func TestTheClockIsToldUnderTheUnitsFilter(t *testing.T) {
	file := filepath.Join(t.TempDir(), "set")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	nowhere := filepath.Join(filepath.Dir(file), "nowhere")
	set, err := ClockIsSet()
	if err != nil {
		t.Skipf("this kernel does not answer: %v", err)
	}
	if toldOrAsked(file) != set || toldOrAsked(nowhere) != set {
		t.Errorf("the kernel says %v, and is not listened to", set)
	}
	filtered := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // and never unlocked: the thread ends with this goroutine
		if err := refuseAdjtimex(); err != nil {
			filtered <- err
			return
		}
		defer close(filtered)
		if _, err := ClockIsSet(); !errors.Is(err, syscall.EPERM) {
			t.Errorf("asked, the kernel answers %v, want %v", err, syscall.EPERM)
		}
		if toldOrAsked(nowhere) {
			t.Error("a clock is believed of which nobody tells")
		}
		if !toldOrAsked(file) {
			t.Error("a clock is not believed that the file tells to be set")
		}
	}()
	if err := <-filtered; err != nil {
		t.Skipf("no filter can be set here: %v", err)
	}
}
