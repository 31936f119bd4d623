// Package whole writes files that a power cut never leaves in part: settings, what was learned, rounds
// and bills go through it. The ledger and the history keep their own files, which are written otherwise.
package whole

import (
	"errors"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/renameio/v2"
)

// Write writes a file that its owner may write and its group read: whenever the program or the power
// ends, its name shows all of the old text or all of the new. What an end in between left behind goes
// first. A name has one writer at a time.
func Write(path string, text []byte) error {
	dir, name := filepath.Dir(path), filepath.Base(path)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), "."+name) {
			continue
		}
		if err := os.Remove(filepath.Join(dir, e.Name())); err != nil {
			return err
		}
	}
	return renameio.WriteFile(path, text, 0o640, renameio.WithTempDir(dir))
}

// MakeDir makes a directory where it is not there, with those above it, so that their names outlive a
// power cut too.
func MakeDir(dir string) error {
	var above []string
	for at := dir; ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); !errors.Is(err, os.ErrNotExist) {
			break
		}
		above = append(above, filepath.Dir(at))
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return err
	}
	for _, at := range above {
		d, err := os.Open(at)
		if err != nil {
			return err
		}
		if err := errors.Join(d.Sync(), d.Close()); err != nil {
			return err
		}
	}
	return nil
}
