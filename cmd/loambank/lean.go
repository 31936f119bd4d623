package main

import (
	"bufio"
	"context"
	"os"
	"runtime/debug"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// leanHeap keeps less garbage beside what lives: a board has little memory, and two megabytes that live are soon
// looked through. GOGC wins over it.
func leanHeap() {
	const percent = 50
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(percent)
	}
}

// stayLean gives back what was wanted of the file so far, now and each hour until ctx is done.
func stayLean(ctx context.Context) {
	every := time.NewTicker(time.Hour)
	defer every.Stop()
	for {
		leanFile()
		select {
		case <-every.C:
		case <-ctx.Done():
			return
		}
	}
}

// leanFile gives back what is mapped of the program's own file and was wanted once, by the start above all. What
// is wanted again comes from the kernel's cache of the file. It does nothing where the kernel does not say what
// is mapped.
func leanFile() {
	smaps, err := os.Open("/proc/self/smaps")
	if err != nil {
		return
	}
	defer smaps.Close()
	program, err := os.Executable()
	if err != nil {
		return
	}
	var from, to uint64 // of the mapping that is being told of; none where it stays
	for lines := bufio.NewScanner(smaps); lines.Scan(); {
		words := strings.Fields(lines.Text())
		switch {
		case len(words) == 6 && words[5] == program && strings.HasPrefix(words[1], "r-"): // nobody writes there
			a, b, _ := strings.Cut(words[0], "-")
			from, _ = strconv.ParseUint(a, 16, 64)
			to, _ = strconv.ParseUint(b, 16, 64)
		case len(words) > 2 && strings.Contains(words[0], "-"):
			from, to = 0, 0
		case len(words) > 1 && words[0] == "Anonymous:" && words[1] == "0" && from < to: // nor has ever
			_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, uintptr(from), uintptr(to-from), syscall.MADV_DONTNEED)
			from, to = 0, 0
		}
	}
}
