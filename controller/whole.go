package controller

import (
	"errors"
	"os"
	"path/filepath"

	"github.com/google/renameio/v2"
)

// writeWhole writes a file of a state directory: whenever the program or the power ends, its name
// shows all of the old text or all of the new. What an end in between left behind goes first.
func writeWhole(path string, text []byte) error {
	dir, name := filepath.Split(path)
	left, err := filepath.Glob(filepath.Join(dir, "."+name+"*"))
	if err != nil {
		return err
	}
	for _, passing := range left {
		if err := os.Remove(passing); err != nil {
			return err
		}
	}
	return renameio.WriteFile(path, text, 0o640, renameio.WithTempDir(dir))
}

// makeDir makes a directory where it is not there, with those above it, so that their names outlive a
// power cut too.
func makeDir(dir string) error {
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
