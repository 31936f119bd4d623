package ledger

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/google/renameio/v2"
)

// The files of a ledger in its directory. Those kept aside have a time behind the name.
const (
	current  = "ledger"
	previous = "ledger.previous"
	damaged  = "ledger.bad-"
	foreign  = "ledger.schema-"

	// Files on their way to another name begin so, those of renameio too.
	passing = ".ledger"
	linking = ".ledger.link"
)

const (
	filePerm    = 0o644 // nothing in it is secret; reports are made by other users
	mostDamaged = 5     // kept aside; the oldest goes first
)

// read returns the checkpoint in a file.
func read(dir, name string) (*Checkpoint, error) {
	data, err := contents(dir, name)
	if err != nil {
		return nil, err
	}
	c, err := decode(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", filepath.Join(dir, name), err)
	}
	return c, nil
}

func contents(dir, name string) ([]byte, error) {
	file, err := os.Open(filepath.Join(dir, name))
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, maxBytes+1))
}

// inspect looks at both generations before they are replaced and moves aside what is not good: a
// bad file never takes the place of a good one.
func (f *File) inspect(now time.Time) (refused []Refusal, err error) {
	for _, name := range [...]string{current, previous} {
		_, fault := read(f.dir, name)
		switch {
		case fault == nil || errors.Is(fault, fs.ErrNotExist):
			continue
		case errors.Is(fault, fs.ErrPermission):
			return refused, fault
		}
		r := f.refuse(name, fault, now)
		if refused = append(refused, r); r.KeptAs == "" {
			return refused, r.Err
		}
	}
	return refused, nil
}

// keepPrevious gives the last checkpoint the name of the previous one, beside its own.
func (f *File) keepPrevious() error {
	from, to, via := filepath.Join(f.dir, current), filepath.Join(f.dir, previous), filepath.Join(f.dir, linking)
	err := f.link(from, via)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil // the first checkpoint, or the last was set aside
	case err != nil:
		return f.copyPrevious()
	}
	// Renaming does nothing between two names of one file, as they are after a kill at this
	// place: then the link stays behind.
	return errors.Join(os.Rename(via, to), removeIfThere(via))
}

// copyPrevious is keepPrevious where the file system has no hard links.
func (f *File) copyPrevious() error {
	data, err := contents(f.dir, current)
	if err != nil {
		return err
	}
	return renameio.WriteFile(filepath.Join(f.dir, previous), data, filePerm, renameio.WithTempDir(f.dir))
}

// refuse sets a file aside and notes it.
func (f *File) refuse(name string, fault error, now time.Time) Refusal {
	kept, err := f.setAside(name, fault, now)
	if err != nil {
		fault = errors.Join(fault, err)
	}
	return Refusal{File: name, KeptAs: kept, Err: fault}
}

// setAside renames a file that cannot be used to a name that says when, and returns it.
func (f *File) setAside(name string, fault error, now time.Time) (string, error) {
	kind := damaged
	if errors.Is(fault, ErrSchema) {
		kind = foreign
	}
	stamp := kind + now.UTC().Format("20060102T150405Z")
	kept := stamp
	for n := 2; ; n++ {
		_, err := os.Lstat(filepath.Join(f.dir, kept))
		if errors.Is(err, fs.ErrNotExist) {
			break
		}
		if err != nil {
			return "", err
		}
		kept = fmt.Sprintf("%s-%d", stamp, n)
	}
	if err := os.Rename(filepath.Join(f.dir, name), filepath.Join(f.dir, kept)); err != nil {
		return "", err
	}
	return kept, errors.Join(f.prune(kept), syncDir(f.dir))
}

// prune removes the oldest damaged files over their number, but not the one just set aside: a
// board may wake in the past. Those of another schema are sound and stay.
func (f *File) prune(just string) error {
	names, err := f.names(damaged)
	if err != nil {
		return err
	}
	over := len(names) - mostDamaged
	names = slices.DeleteFunc(names, func(n string) bool { return n == just })
	var faults []error
	for _, name := range names[:max(0, over)] {
		faults = append(faults, os.RemoveAll(filepath.Join(f.dir, name)))
	}
	return errors.Join(faults...)
}

// removeLeftovers removes what a killed program left under a passing name.
func (f *File) removeLeftovers() error {
	names, err := f.names(passing)
	if err != nil {
		return err
	}
	for _, name := range names {
		if err := removeIfThere(filepath.Join(f.dir, name)); err != nil {
			return err
		}
	}
	return nil
}

// names lists the files that begin with prefix, sorted.
func (f *File) names(prefix string) ([]string, error) {
	entries, err := os.ReadDir(f.dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), prefix) {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

func removeIfThere(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// syncDir makes the names in a directory outlive a power cut.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
