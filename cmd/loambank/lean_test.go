package main

import (
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestWhatTheStartWantedIsForgotten: half and more of what is mapped of the program's file, and the program
// runs on.
func TestWhatTheStartWantedIsForgotten(t *testing.T) {
	mapped := func() (kB int) {
		status, err := os.ReadFile("/proc/self/status")
		if err != nil {
			t.Skip("the kernel does not say what is mapped:", err)
		}
		for line := range strings.Lines(string(status)) {
			if text, found := strings.CutPrefix(line, "RssFile:"); found {
				if kB, err = strconv.Atoi(strings.Fields(text)[0]); err != nil {
					t.Fatal(err)
				}
			}
		}
		return kB
	}
	before := mapped()
	if before == 0 {
		t.Skip("the kernel does not tell files from other memory")
	}
	leanFile()
	if after := mapped(); after > before/2 {
		t.Errorf("%d kB of the program are mapped, before %d kB", after, before)
	}
	leanFile() // again, from what is left
}
