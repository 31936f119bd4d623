package bill

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"loambank/controller/whole"
)

// Book is all that was typed in, by day. The zero value is empty.
type Book struct {
	Schema int     `json:"schema"` // 1
	Meters []Meter `json:"meters,omitempty"`
	Fills  []Fill  `json:"fills,omitempty"`
}

func path(stateDir string) string { return filepath.Join(stateDir, "bills.json") }

// Load reads the bills of a state directory; none is an empty book.
func Load(stateDir string) (*Book, error) {
	text, err := os.ReadFile(path(stateDir))
	if errors.Is(err, fs.ErrNotExist) {
		return &Book{Schema: 1}, nil
	}
	if err != nil {
		return nil, fmt.Errorf("bills: %w", err)
	}
	var b Book
	if err := json.Unmarshal(text, &b); err != nil {
		return nil, fmt.Errorf("bills %s: %w", path(stateDir), err)
	}
	if err := b.check(); err != nil {
		return nil, fmt.Errorf("bills %s: %w", path(stateDir), err)
	}
	return &b, nil
}

// Save writes the bills in place of those of before.
func (b *Book) Save(stateDir string) error {
	if err := b.check(); err != nil {
		return err
	}
	text, err := json.MarshalIndent(b, "", "  ")
	if err != nil {
		return fmt.Errorf("bills: %w", err)
	}
	err = whole.Write(path(stateDir), append(text, '\n'))
	if errors.Is(err, fs.ErrPermission) {
		return fmt.Errorf("bills: %w; type them as the user that loambank runs as", err)
	}
	if err != nil {
		return fmt.Errorf("bills: %w", err)
	}
	return nil
}

// AddMeter puts a bill in, in place of one of the same meter and days.
func (b *Book) AddMeter(m Meter) {
	b.Meters = slices.DeleteFunc(b.Meters, func(x Meter) bool { return x.House == m.House && x.First == m.First && x.Last == m.Last })
	b.Meters = append(b.Meters, m)
	slices.SortStableFunc(b.Meters, func(x, y Meter) int { return cmp.Or(cmp.Compare(x.House, y.House), cmp.Compare(x.First, y.First)) })
}

// AddFill puts a fill in, in place of one of the same house and day.
func (b *Book) AddFill(f Fill) {
	b.Fills = slices.DeleteFunc(b.Fills, func(x Fill) bool { return x.House == f.House && x.Day == f.Day })
	b.Fills = append(b.Fills, f)
	slices.SortStableFunc(b.Fills, func(x, y Fill) int { return cmp.Or(cmp.Compare(x.House, y.House), cmp.Compare(x.Day, y.Day)) })
}

// Before returns the fill of the same tank before f, and whether there is one.
func (b *Book) Before(f Fill) (was Fill, found bool) {
	for _, x := range b.Fills {
		if x.House == f.House && x.Day < f.Day {
			was, found = x, true
		}
	}
	return was, found
}
