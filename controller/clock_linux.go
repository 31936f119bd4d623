package controller

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"
)

// timeError is what the kernel says while no time service has set its clock (adjtimex(2), TIME_ERROR).
const timeError = 5

// ClockToldFile is there once a program that may ask the kernel has seen the machine's clock set. The
// kernel's own answer lies behind the system call that sets clocks too, which the daemon's unit keeps
// it from. /run is empty after each boot.
const ClockToldFile = "/run/loambank-clock/set"

// clockWasSet reports whether the machine's time comes from somewhere: a battery clock, or a time
// service that has set it since the start. Where nobody tells, it is not believed.
func clockWasSet() bool { return batteryClock() || toldOrAsked(ClockToldFile) }

// toldOrAsked reports whether the clock was set by what the kernel answers or, where it may not be
// asked, by the file that another program leaves.
func toldOrAsked(file string) bool {
	set, err := ClockIsSet()
	if err == nil {
		return set
	}
	_, err = os.Stat(file)
	return err == nil
}

// ClockIsSet asks the kernel whether a time service has set the machine's clock since the start and
// keeps it. It is an error where the kernel may not be asked.
func ClockIsSet() (bool, error) {
	var t syscall.Timex
	state, err := syscall.Adjtimex(&t)
	if err != nil {
		return false, os.NewSyscallError("adjtimex", err)
	}
	return state != timeError, nil
}

// batteryClock reports whether the machine has a clock that ran on while it was off. One whose
// battery is empty begins in 1970.
var batteryClock = sync.OnceValue(func() bool {
	clocks, err := filepath.Glob("/sys/class/rtc/rtc*/since_epoch")
	if err != nil {
		return false
	}
	for _, path := range clocks {
		text, err := os.ReadFile(path)
		if err != nil {
			continue
		}
		unix, err := strconv.ParseInt(strings.TrimSpace(string(text)), 10, 64)
		if err == nil && time.Unix(unix, 0).After(oldest) {
			return true
		}
	}
	return false
})
