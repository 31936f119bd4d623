// Package shelf keeps the baselines of a farm's houses in its state directory, one file a round, and
// finds the newest. Earlier ones stay.
package shelf

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"loambank/controller/commission"
	"loambank/controller/whole"
)

// most bounds a baseline, bytes.
const most = 1 << 20

const ending = ".json"

func dirIn(stateDir string) string { return filepath.Join(stateDir, "commission") }

// prefix is how the files of a house begin. No house's name holds an @.
func prefix(house string) string { return house + "@" }

// Save keeps a round, whole or as far as it has come, in place of what was kept of it before. A power
// cut leaves the one or the other.
func Save(stateDir string, b *commission.Baseline) error {
	if err := b.Check(); err != nil {
		return err
	}
	text, err := json.MarshalIndent(b, "", "  ")
	if err != nil {
		return fmt.Errorf("baseline: %w", err)
	}
	dir := dirIn(stateDir)
	if err := whole.MakeDir(dir); err != nil {
		return fmt.Errorf("baseline: %w", err)
	}
	name := prefix(b.House) + b.Begun.UTC().Format("20060102T150405Z") + ending
	if err := whole.Write(filepath.Join(dir, name), append(text, '\n')); err != nil {
		return fmt.Errorf("baseline: %w", err)
	}
	return nil
}

// Newest returns the newest complete round of a house, and the newest one begun since that is not
// complete; each is nil where there is none. Files that cannot be read are passed over and named in the
// error, beside what else was found.
func Newest(stateDir, house string) (whole, begun *commission.Baseline, err error) {
	dir := dirIn(stateDir)
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, fmt.Errorf("baselines: %w", err)
	}
	var faults []error
	for _, entry := range slices.Backward(entries) { // by name, and so by time
		if !strings.HasPrefix(entry.Name(), prefix(house)) || !strings.HasSuffix(entry.Name(), ending) {
			continue
		}
		b, err := load(filepath.Join(dir, entry.Name()), house)
		switch {
		case err != nil:
			faults = append(faults, err)
		case !b.Finished.IsZero():
			return b, begun, errors.Join(faults...)
		case begun == nil:
			begun = b
		}
	}
	return nil, begun, errors.Join(faults...)
}

func load(path, house string) (*commission.Baseline, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("baseline: %w", err)
	}
	if info.Size() > most {
		return nil, fmt.Errorf("baseline %s: %d bytes are too many; it holds %d at most", path, info.Size(), most)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("baseline: %w", err)
	}
	var b commission.Baseline
	if err := json.Unmarshal(text, &b); err != nil {
		return nil, fmt.Errorf("baseline %s: %w", path, err)
	}
	if err := b.Check(); err != nil {
		return nil, fmt.Errorf("baseline %s: %w", path, err)
	}
	if b.House != house {
		return nil, fmt.Errorf("baseline %s is of house %s, not of %s", path, b.House, house)
	}
	return &b, nil
}
