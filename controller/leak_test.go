package controller

import (
	"bytes"
	"fmt"
	"os"
	"runtime"
	"testing"
	"time"
)

// TestMain wants every goroutine of this module gone once the tests are through.
func TestMain(m *testing.M) {
	code := m.Run()
	for range 100 {
		if len(left()) == 0 {
			os.Exit(code)
		}
		time.Sleep(20 * time.Millisecond) // those that end take a moment
	}
	for _, stack := range left() {
		fmt.Fprintf(os.Stderr, "a goroutine is left:\n%s\n\n", stack)
	}
	os.Exit(1)
}

// left returns the stacks of goroutines that this module started and that still run.
func left() (stacks [][]byte) {
	all := make([]byte, 1<<20)
	all = all[:runtime.Stack(all, true)]
	for _, stack := range bytes.Split(all, []byte("\n\n"))[1:] { // the first is this one
		if bytes.Contains(stack, []byte("created by loambank/")) {
			stacks = append(stacks, stack)
		}
	}
	return stacks
}
