// Package chiptest helps the tests of drivers of I²C chips: reference values, waits that take no
// time and a bus that does as it is told.
package chiptest

import (
	"context"
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/physic"
)

// Row is one row of the reference values for sensors.
type Row struct {
	ID       string
	Quantity string
	Inputs   map[string]string
	Expected []float64 // leading numbers of what is expected; empty for a rule in words
}

// Rows returns the rows whose quantity begins with the text. None is a fault of the test.
func Rows(t *testing.T, quantity string) []Row {
	t.Helper()
	f, err := os.Open("../../testdata/reference/sensors.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []Row
	for _, r := range all {
		if !strings.HasPrefix(r[1], quantity) {
			continue
		}
		row := Row{ID: r[0], Quantity: r[1], Inputs: map[string]string{}}
		for _, in := range strings.Split(r[2], ";") {
			name, value, _ := strings.Cut(in, "=")
			row.Inputs[name] = value
		}
		for _, part := range strings.Split(r[3], ";") {
			word, _, _ := strings.Cut(strings.TrimSpace(part), " ")
			if v, err := strconv.ParseFloat(word, 64); err == nil {
				row.Expected = append(row.Expected, v)
			}
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("no reference row for %q", quantity)
	}
	return rows
}

// Float returns an input as a number.
func (r Row) Float(t *testing.T, name string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r.Inputs[name], 64)
	if err != nil {
		t.Fatalf("%s: %s: %v", r.ID, name, err)
	}
	return v
}

// Hex returns an input of hexadecimal digits, with or without spaces, as bytes.
func (r Row) Hex(t *testing.T, name string) []byte {
	t.Helper()
	digits := strings.ReplaceAll(r.Inputs[name], " ", "")
	var b []byte
	for i := 0; i+1 < len(digits); i += 2 {
		v, err := strconv.ParseUint(digits[i:i+2], 16, 8)
		if err != nil {
			t.Fatalf("%s: %s: %v", r.ID, name, err)
		}
		b = append(b, byte(v))
	}
	if len(b) == 0 {
		t.Fatalf("%s has no %s", r.ID, name)
	}
	return b
}

// Clock is a clock that only waits move.
type Clock struct{ Slept time.Duration }

// Sleep waits without taking time.
func (c *Clock) Sleep(ctx context.Context, d time.Duration) error {
	c.Slept += d
	return ctx.Err()
}

// Now is the time.
func (c *Clock) Now() time.Time { return time.Unix(1_700_000_000, 0).Add(c.Slept) }

// Bus is a bus that does as it is told.
type Bus func(addr uint16, w, r []byte) error

// String names the bus.
func (Bus) String() string { return "I2C1" }

// Tx makes one transfer.
func (b Bus) Tx(addr uint16, w, r []byte) error { return b(addr, w, r) }

// SetSpeed does nothing.
func (Bus) SetSpeed(physic.Frequency) error { return nil }
