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

// clockWasSet reports whether the machine's time comes from somewhere: a battery clock, or a time
// service that has set it since the start. Where the kernel does not tell, it is not believed.
func clockWasSet() bool {
	if batteryClock() {
		return true
	}
	var t syscall.Timex
	state, err := syscall.Adjtimex(&t)
	return err == nil && state != timeError
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
