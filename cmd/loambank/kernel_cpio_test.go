package main

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"maps"
	"slices"
)

// initramfs returns files, by their path without the first slash, as the kernel unpacks them into
// its first file system: a gzipped cpio archive in the "newc" format, with a console to write on.
// Kernel documentation, driver-api/early-userspace/buffer-format.rst.
func initramfs(files map[string][]byte) ([]byte, error) {
	const (
		folder  = 0o040755
		console = 0o020600
		program = 0o100755
	)
	var packed bytes.Buffer
	zip, err := gzip.NewWriterLevel(&packed, gzip.BestSpeed)
	if err != nil {
		return nil, err
	}
	w := &cpio{to: zip}
	w.entry("dev", folder, [2]int{}, nil)
	w.entry("dev/console", console, [2]int{5, 1}, nil)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		w.entry(name, program, [2]int{}, files[name])
	}
	w.entry("TRAILER!!!", 0, [2]int{}, nil)
	if w.err == nil {
		w.err = zip.Close()
	}
	return packed.Bytes(), w.err
}

// cpio writes one entry after the other; after an error it writes no more.
type cpio struct {
	to     io.Writer
	number int
	err    error
}

func (w *cpio) entry(name string, mode int, device [2]int, content []byte) {
	w.number++
	head := "070701"
	for _, field := range []int{
		w.number, mode, 0, 0, 1, 0, len(content), 0, 0, device[0], device[1], len(name) + 1, 0,
	} {
		head += fmt.Sprintf("%08X", field)
	}
	w.padded([]byte(head + name + "\x00"))
	w.padded(content)
}

// padded writes b and fills up to a multiple of four bytes.
func (w *cpio) padded(b []byte) {
	if w.err == nil {
		_, w.err = w.to.Write(append(slices.Clip(b), make([]byte, -len(b)&3)...))
	}
}
