package main

import (
	"errors"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// sector is what a disk writes whole, bytes. Common practice, no source.
const sector = 512

// inode is a file or a folder, whatever its names are.
type inode struct {
	folder   bool
	live     []byte    // as programs see it
	kept     []byte    // what a power cut leaves for sure
	unsynced []written // what came since, in order
}

// written is a write at an offset or, with no data, the setting of a length.
type written struct {
	at   int64
	data []byte
	done *bool // its call came back
}

// naming is a change of names in a folder: to names file from now on, from does no more. Either may
// be empty.
type naming struct {
	from, to string
	file     *inode
	done     *bool
}

// folder is where it stands in: nothing here is renamed from one folder into another.
func (n naming) folder() string {
	if n.to != "" {
		return filepath.Dir(n.to)
	}
	return filepath.Dir(n.from)
}

func (n naming) apply(names map[string]*inode) {
	if names[n.from] == n.file {
		delete(names, n.from)
	}
	if n.to != "" {
		names[n.to] = n.file
	}
}

// handle is an open file or folder of any place, or a connection.
type handle struct {
	path string
	file *inode // nil where it is none of the disk
	at   int64
	sent *strings.Builder // through a connection; nil is that it is none
}

// disk is a state directory as the calls of a program make it, with what of it would outlive a
// power cut. It is strict: only fsync(2) of a file keeps its content, and of a folder its names.
type disk struct {
	t       *testing.T
	root    string
	names   map[string]*inode // as programs see them
	kept    map[string]*inode // what a power cut leaves for sure
	moved   []naming          // what came since, in order
	handles map[int64]*handle
	whole   map[string][]string // what a name may show that files are renamed or linked to
	answer  func(text string)   // hears what was sent through a connection that closes
}

// newDisk is what stands in a folder, all of it kept.
func newDisk(t *testing.T, root string, stands map[string][]byte) *disk {
	d := &disk{t: t, root: root, names: map[string]*inode{}, handles: map[int64]*handle{}, whole: map[string][]string{}}
	for path, text := range stands {
		d.names[path] = &inode{folder: path == root, live: slices.Clone(text), kept: slices.Clone(text)}
		d.whole[path] = []string{string(text)}
	}
	d.kept = maps.Clone(d.names)
	return d
}

// standing is what stands in a folder, by path, the folder itself among it; empty where it is not there.
func standing(t *testing.T, root string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	entries, err := os.ReadDir(root)
	if errors.Is(err, fs.ErrNotExist) {
		return all
	}
	all[root] = nil
	for _, e := range entries {
		path := filepath.Join(root, e.Name())
		if !e.Type().IsRegular() {
			continue // a socket
		}
		text, fault := os.ReadFile(path)
		err = errors.Join(err, fault)
		all[path] = text
	}
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func (d *disk) ours(path string) bool { return path == d.root || strings.HasPrefix(path, d.root+"/") }

// write is a write or a setting of a length that has begun; its end comes later.
func (d *disk) write(f *inode, at int64, data []byte) (end func()) {
	c := written{at: at, data: data, done: new(bool)}
	f.unsynced = append(f.unsynced, c)
	f.live = c.apply(f.live)
	return func() { *c.done = true }
}

func (c written) apply(to []byte) []byte {
	length := c.at + int64(len(c.data))
	if more := length - int64(len(to)); more > 0 {
		to = append(to, make([]byte, more)...)
	}
	if c.data == nil {
		return to[:length]
	}
	copy(to[c.at:], c.data)
	return to
}

// rename is a change of names that has begun; its end comes later.
func (d *disk) rename(n naming) (end func()) {
	n.done = new(bool)
	n.apply(d.names)
	d.moved = append(d.moved, n)
	return func() { *n.done = true }
}

// sync keeps what came back until now, once the call ends.
func (d *disk) sync(h *handle) (end func()) {
	done := func(done *bool) bool { return *done }
	if h.file != nil && !h.file.folder {
		f := h.file
		var due []written
		for _, c := range f.unsynced {
			if done(c.done) {
				due = append(due, c)
			}
		}
		return func() {
			for _, c := range due {
				f.kept = c.apply(f.kept)
			}
			f.unsynced = slices.DeleteFunc(f.unsynced, func(c written) bool {
				return slices.ContainsFunc(due, func(x written) bool { return x.done == c.done })
			})
		}
	}
	var due []naming
	for _, n := range d.moved {
		if done(n.done) && n.folder() == h.path {
			due = append(due, n)
		}
	}
	return func() {
		for _, n := range due {
			n.apply(d.kept)
		}
		d.moved = slices.DeleteFunc(d.moved, func(n naming) bool {
			return slices.ContainsFunc(due, func(x naming) bool { return x.done == n.done })
		})
	}
}

// fate is what becomes at a power cut of what was not synced.
type fate struct {
	data  float64 // how likely a sector is written; the length may have grown without
	names float64 // how likely a name has changed
	order bool    // names change in the order of their calls, as a journal has it
}

// left is what a power cut leaves now, by path.
func (d *disk) left(chance *rand.Rand, f fate) map[string][]byte {
	names := maps.Clone(d.kept)
	for _, n := range d.moved {
		if chance.Float64() < f.names {
			n.apply(names)
		} else if f.order {
			break
		}
	}
	all := map[string][]byte{}
	for path, file := range names {
		if folder := filepath.Dir(path); folder != filepath.Dir(d.root) && (names[folder] == nil || !names[folder].folder) {
			continue
		}
		switch {
		case file.folder:
			all[path] = nil
		case strings.HasSuffix(path, "-shm"):
			// Written through memory, which no call shows, and never synced: SQLite makes it anew.
			all[path] = noise(chance, len(file.live))
		default:
			all[path] = file.torn(chance, f.data)
		}
	}
	return all
}

// torn is what is left of a file: each sector of each write that was not synced is there or is not.
func (file *inode) torn(chance *rand.Rand, likely float64) []byte {
	left := append([]byte{}, file.kept...)
	for _, c := range file.unsynced {
		if c.data == nil {
			if chance.Float64() < likely {
				left = c.apply(left)
			}
			continue
		}
		for from := int64(0); from < int64(len(c.data)); {
			to := min(int64(len(c.data)), from+sector-(c.at+from)%sector)
			if chance.Float64() < likely {
				left = written{at: c.at + from, data: c.data[from:to]}.apply(left)
			} else if end := c.at + to; end > int64(len(left)) && chance.Float64() < likely {
				left = written{at: end}.apply(left) // the length has come, the data has not
			}
			from = to
		}
	}
	return left
}

func noise(chance *rand.Rand, length int) []byte {
	b := make([]byte, length)
	for i := range b {
		b[i] = byte(chance.Uint32())
	}
	return b
}
