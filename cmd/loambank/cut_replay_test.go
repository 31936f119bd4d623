package main

import (
	"path/filepath"
	"strconv"
	"strings"
)

// play takes calls in, and stops after each begin or end that may change what a power cut leaves.
func (d *disk) play(all []turn, stop func()) {
	d.t.Helper()
	ends := map[*call]func(){}
	ours := map[*call]bool{}
	for _, e := range all {
		if e.ends {
			ends[e.call]()
		} else {
			ends[e.call], ours[e.call] = d.begin(e.call)
		}
		if ours[e.call] {
			stop()
		}
	}
}

// begin takes the begin of a call in and returns what its end does; touched says that it may change
// what a power cut leaves. A call that failed, or never came back, changed nothing.
func (d *disk) begin(c *call) (end func(), touched bool) {
	d.t.Helper()
	if !c.ended || c.ret < 0 {
		return func() {}, false
	}
	switch c.name {
	case "open", "openat", "creat":
		return d.open(c)
	case "accept4":
		return func() { d.handles[c.ret] = &handle{sent: &strings.Builder{}} }, false
	case "close":
		h := d.handles[c.number(d.t, 0)]
		if delete(d.handles, c.number(d.t, 0)); h != nil && h.sent != nil && d.answer != nil {
			d.answer(h.sent.String())
		}
		return func() {}, false
	case "fsync", "fdatasync":
		h := d.handles[c.number(d.t, 0)]
		if h == nil || !d.ours(h.path) && h.path != filepath.Dir(d.root) {
			return func() {}, false
		}
		return d.sync(h), true
	case "write", "pwrite64", "ftruncate":
		return d.writes(c)
	case "rename", "renameat", "renameat2", "link", "linkat", "unlink", "unlinkat", "mkdir", "mkdirat":
		return d.renames(c)
	}
	of := ""
	if k, err := strconv.ParseInt(c.args[0], 0, 64); err == nil && d.handles[k] != nil {
		of = d.handles[k].path
	}
	for _, path := range append(c.args, of) {
		if d.ours(path) {
			d.t.Fatalf("%s changes %s, and is not understood here", c.name, path)
		}
	}
	return func() {}, false
}

// path is the k-th argument as a path; with a folder before it where the call has one.
func (d *disk) path(c *call, k int) string {
	if filepath.IsAbs(c.args[k]) || !strings.HasSuffix(c.name, "at") && !strings.HasSuffix(c.name, "at2") {
		return filepath.Clean(c.args[k])
	}
	folder := ""
	if c.args[k-1] != "AT_FDCWD" {
		if h := d.handles[c.number(d.t, k-1)]; h != nil {
			folder = h.path
		}
	}
	return filepath.Join(folder, c.args[k])
}

func (d *disk) open(c *call) (end func(), touched bool) {
	k := 0
	if c.name == "openat" {
		k = 1
	}
	path, flags := d.path(c, k), c.args[k+1]
	h := &handle{path: path}
	open := func() { d.handles[c.ret] = h }
	if !d.ours(path) {
		return open, false
	}
	h.file = d.names[path]
	var ends []func()
	switch {
	case h.file == nil && strings.Contains(flags, "O_CREAT"):
		h.file = &inode{}
		ends = append(ends, d.rename(naming{to: path, file: h.file}))
	case h.file == nil:
		return open, false // a socket, or a folder that is none of ours
	case strings.Contains(flags, "O_TRUNC") && len(h.file.live) > 0:
		ends = append(ends, d.write(h.file, 0, nil))
	}
	if strings.Contains(flags, "O_APPEND") {
		d.t.Fatalf("%s is opened to be lengthened, which is not understood here", path)
	}
	return func() {
		open()
		for _, end := range ends {
			end()
		}
	}, len(ends) > 0
}

func (d *disk) writes(c *call) (end func(), touched bool) {
	h := d.handles[c.number(d.t, 0)]
	switch {
	case h == nil:
	case h.sent != nil:
		return func() { h.sent.WriteString(c.args[1][:c.ret]) }, false
	case h.file == nil:
	case c.name == "ftruncate":
		return d.write(h.file, c.number(d.t, 1), nil), true
	case c.name == "pwrite64":
		return d.write(h.file, c.number(d.t, 3), []byte(c.args[1][:c.ret])), true
	default:
		end = d.write(h.file, h.at, []byte(c.args[1][:c.ret]))
		h.at += c.ret
		return end, true
	}
	return func() {}, false
}

func (d *disk) renames(c *call) (end func(), touched bool) {
	first, second := 0, 1
	if strings.Contains(c.name, "at") {
		first, second = 1, 3
	}
	from := d.path(c, first)
	var n naming
	switch {
	case strings.HasPrefix(c.name, "mkdir"):
		n = naming{to: from, file: &inode{folder: true}}
	case strings.HasPrefix(c.name, "unlink"):
		n = naming{from: from, file: d.names[from]}
	default:
		to := d.path(c, second)
		if d.ours(from) != d.ours(to) {
			d.t.Fatalf("%s from %s to %s leads from one disk to another", c.name, from, to)
		}
		n = naming{from: from, to: to, file: d.names[from]}
		if strings.HasPrefix(c.name, "link") {
			n.from = ""
		}
		if n.file == d.names[to] {
			return func() {}, false // renaming does nothing between two names of one file
		}
	}
	if n.file == nil || !d.ours(from) {
		return func() {}, false // a socket, or none of ours
	}
	if n.to != "" {
		d.whole[n.to] = append(d.whole[n.to], string(n.file.live))
	}
	return d.rename(n), true
}
