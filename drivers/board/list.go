package board

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/warthog618/go-gpiocdev"

	"loambank/drivers/bound"
)

// Wires returns the names of the 1-Wire buses, as Open takes them, in the order of their numbers.
// None is no error.
func (b *Buses) Wires(ctx context.Context) ([]string, error) {
	if err := b.ask(ctx, "1-Wire"); err != nil {
		return nil, err
	}
	return b.wires.names(), nil
}

// I2Cs returns the names of the I²C buses, as OpenI2C takes them, in the order of their numbers.
// None is no error.
func (b *Buses) I2Cs(ctx context.Context) ([]string, error) {
	if err := b.ask(ctx, "I²C"); err != nil {
		return nil, err
	}
	return b.i2cs.names(), nil
}

func (t *table[B]) names() []string {
	all := t.listed()
	slices.SortStableFunc(all, func(a, b listed[B]) int { return cmp.Compare(uint(a.number), uint(b.number)) })
	var names []string
	for _, l := range all {
		names = append(names, l.short())
	}
	return names
}

// Line is a GPIO line as the kernel describes it.
type Line struct {
	Chip   string // "gpiochip0"
	Number int    // on its chip
	Name   string // such as GPIO17; "" where it has none
	Used   bool   // by a program or by the kernel
	Holder string // who that is; "" is free, or somebody without a name
	Output bool
}

// Lines returns the lines of all chips, by chip and number, without taking any. The error tells of
// chips that could not be asked; the lines of the others are returned beside it.
func Lines(ctx context.Context) ([]Line, error) {
	type answer struct {
		lines []Line
		fault error
	}
	a, err := bound.Do(ctx, bound.NewSlot(), func(context.Context) (answer, error) {
		lines, fault := machine().lines()
		return answer{lines, fault}, nil
	})
	return a.lines, errors.Join(err, a.fault)
}

func (cs chips) lines() ([]Line, error) {
	var all []Line
	var faults []error
	for _, name := range cs.names() {
		c, err := cs.open(name)
		switch {
		case errors.Is(err, gpiocdev.ErrNotCharacterDevice): // a second name of another chip
			continue
		case err != nil:
			faults = append(faults, fmt.Errorf("%s: %w", name, reason(err)))
			continue
		}
		for i := range c.Lines() {
			info, err := c.LineInfo(i)
			if err != nil {
				faults = append(faults, fmt.Errorf("%s:%d: %w", name, i, reason(err)))
				break
			}
			all = append(all, Line{
				Chip: name, Number: i, Name: info.Name, Used: info.Used, Holder: info.Consumer,
				Output: info.Config.Direction == gpiocdev.LineDirectionOutput,
			})
		}
		c.Close()
	}
	return all, errors.Join(faults...)
}
