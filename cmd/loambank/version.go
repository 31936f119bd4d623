package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

type versionCommand struct{}

// Run prints the version the program was built from.
func (versionCommand) Run(w *world) error {
	version := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		version = info.Main.Version
	}
	_, err := fmt.Fprintf(w.stdout, "loambank %s %s/%s %s\n", version, runtime.GOOS, runtime.GOARCH, runtime.Version())
	return err
}
