package recording

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"loambank/drivers/bound"
	"loambank/drivers/device"
)

// ProbeOptions says which column of which recording a probe reads.
type ProbeOptions struct {
	Name string // of the probe, for errors: house/probe or house/store/probe
	Path string // of the recording, a plain file
	// Column is the header of the column; "" is the one that is headed with Name and a unit.
	Column string
	Zone   *time.Location   // of times without an offset; nil refuses them
	Now    func() time.Time // the clock that it is played by; nil is the machine's
}

// Probe plays one column of a recording as if it were measured now. It keeps two rows of it and
// goes through it once: a clock that is set back gets nothing until it is there again.
type Probe struct {
	o    ProbeOptions
	slot bound.Slot // for everything below
	file *os.File
	rows *Reader
	at   int // of the column in a row

	now, next Row
	begun     bool  // now holds a row
	end       error // why next holds none: io.EOF or what is wrong; nil while it does
}

// longestHeld is how long a row stands that none follows: a day, which in autumn has 25 hours.
// Soil is recorded once a day, anything slower says nothing of a house.
const longestHeld = 25 * time.Hour

// OpenProbe opens the recording and finds the column. A file that is not there is device.ErrAbsent,
// one without the column device.ErrFormat.
func OpenProbe(ctx context.Context, o ProbeOptions) (*Probe, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	p := &Probe{o: o, slot: bound.NewSlot()}
	_, err := bound.Do(ctx, p.slot, func(context.Context) (none struct{}, err error) { return none, p.open() })
	if err != nil {
		return nil, fmt.Errorf("%v: %w", p, err)
	}
	return p, nil
}

func (p *Probe) open() (err error) {
	switch info, err := os.Stat(p.o.Path); {
	case err != nil:
		return fmt.Errorf("%w: %w", device.ErrAbsent, cause(err))
	case !info.Mode().IsRegular():
		return fmt.Errorf("%w: it is not a plain file; give a recording", device.ErrFormat)
	}
	file, err := os.Open(p.o.Path)
	if err != nil {
		return fmt.Errorf("%w: %w", device.ErrAbsent, cause(err))
	}
	defer func() {
		if err != nil {
			file.Close() // it was only read
		}
	}()
	rows, err := NewReader(file, Options{Name: p.o.Path, Zone: p.o.Zone})
	if err != nil {
		return fmt.Errorf("%w: %w", device.ErrFormat, err)
	}
	if p.at, err = p.column(rows.Columns()); err != nil {
		return err
	}
	p.file, p.rows = file, rows
	return nil
}

// cause is what went wrong, without the path that stands before it already.
func cause(err error) error {
	if e := (*os.PathError)(nil); errors.As(err, &e) {
		return e.Err
	}
	return err
}

func (p *Probe) column(columns []Column) (int, error) {
	var headers []string
	for _, c := range columns {
		name := c.House + "/" + c.Store + "/" + c.Probe
		if c.Store == "" {
			name = c.House + "/" + c.Probe
		}
		if p.o.Column == c.Header || p.o.Column == "" && name == p.o.Name {
			return c.Index, nil
		}
		headers = append(headers, c.Header)
	}
	wanted := p.o.Column
	if wanted == "" {
		wanted = p.o.Name + "_<unit>"
	}
	return 0, fmt.Errorf("%w: no column %s; it has %.200s", device.ErrFormat, show(wanted), strings.Join(headers, ", "))
}

// Read returns the value of the row that covers the clock's present: the last one up to it. It is
// device.ErrAbsent before the first row, after the last has stood as long as one can, where the
// cell is empty, and where the clock was set back; device.ErrFormat where the recording is damaged
// further on. A long way through the recording is gone over several calls.
func (p *Probe) Read(ctx context.Context) (float64, error) {
	v, err := bound.Do(ctx, p.slot, p.read)
	if err != nil {
		return 0, fmt.Errorf("%v: %w", p, err)
	}
	return v, nil
}

func (p *Probe) read(ctx context.Context) (float64, error) {
	if p.rows == nil {
		return 0, os.ErrClosed
	}
	present := p.o.Now()
	if err := p.advance(ctx, present); err != nil {
		return 0, err
	}
	switch {
	case !p.begun && p.end != nil:
		return 0, p.ended()
	case !p.begun:
		return 0, fmt.Errorf("%w: the recording begins at %s", device.ErrAbsent, stampOf(p.next.Time))
	case present.Before(p.now.Time):
		return 0, fmt.Errorf("%w: the clock was set back before %s, and a recording is not rewound", device.ErrAbsent, stampOf(p.now.Time))
	case p.end != nil && p.end != io.EOF:
		return 0, p.ended()
	case present.Sub(p.now.Time) > longestHeld:
		return 0, fmt.Errorf("%w: nothing was recorded since %s", device.ErrAbsent, stampOf(p.now.Time))
	case !p.now.OK[p.at]:
		return 0, fmt.Errorf("%w: the cell of %s is empty", device.ErrAbsent, stampOf(p.now.Time))
	}
	return p.now.Values[p.at], nil
}

// advance goes on to the last row up to the present.
func (p *Probe) advance(ctx context.Context, present time.Time) error {
	for steps := 0; p.end == nil; steps++ {
		if steps%1024 == 1023 && ctx.Err() != nil {
			return fmt.Errorf("on the way to %s: %w", stampOf(present), ctx.Err())
		}
		if len(p.next.OK) > 0 {
			if p.next.Time.After(present) {
				return nil
			}
			p.now, p.next, p.begun = p.next, p.now, true
		}
		p.end = p.rows.Next(&p.next)
	}
	return nil
}

func (p *Probe) ended() error {
	if p.end == io.EOF {
		return fmt.Errorf("%w: the recording has no row", device.ErrAbsent)
	}
	return fmt.Errorf("%w: %w", device.ErrFormat, p.end)
}

func stampOf(t time.Time) string { return t.Format("2006-01-02 15:04:05 -0700") }

// String names the probe as its owner would find it.
func (p *Probe) String() string { return "probe " + p.o.Name + " at " + p.o.Path }

// Close closes the recording. It may be called twice.
func (p *Probe) Close() error {
	_, err := bound.InTurn(context.Background(), p.slot, func(context.Context) (none struct{}, err error) {
		if p.file == nil {
			return none, nil
		}
		file := p.file
		p.file, p.rows = nil, nil
		return none, file.Close()
	})
	if err != nil {
		return fmt.Errorf("%v: %w", p, err)
	}
	return nil
}
