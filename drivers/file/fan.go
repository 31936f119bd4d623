package file

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"loambank/drivers/device"
)

// FanOptions describes a fan file.
type FanOptions struct {
	Name   string // for errors
	Path   string
	Format string // "plain", "led", "pwm"; "" finds out from the path
	// ActiveLow turns the numbers round: 0 runs the fan at full speed, the largest is off.
	ActiveLow bool
	// Levels are the speeds as fractions of full flow, rising, the last 1; none is the same as [1].
	Levels []float64
	// Create lets a missing file be made. It stays false in the kernel's trees.
	Create bool
}

// Fan is one fan file.
type Fan struct {
	o     FanOptions
	texts []string // what each stage writes, off first
	flag  int
	slot  slot
	gone  bool
}

// NewFan checks the options, takes the file over from the kernel's own control where there is
// such, puts the fan off and reads that back.
func NewFan(ctx context.Context, o FanOptions) (*Fan, error) {
	f := &Fan{o: o, flag: os.O_WRONLY | os.O_TRUNC, slot: make(slot, 1)}
	if o.Path == "" {
		return nil, fmt.Errorf("fan %s: no path; give the file to write", o.Name)
	}
	if o.Create {
		f.flag |= os.O_CREATE
	}
	switch f.o.Format {
	case "":
		f.o.Format = detectFan(o.Path)
	case "plain", "led", "pwm":
	default:
		return nil, fmt.Errorf("%v: unknown format %.40q; it is one of plain, led, pwm", f, o.Format)
	}
	if len(o.Levels) == 0 {
		f.o.Levels = []float64{1}
	}
	if err := checkLevels(f.o.Levels); err != nil {
		return nil, fmt.Errorf("%v: %w", f, err)
	}
	ready := make(chan []string, 1)
	err := f.slot.do(ctx, false, func(ctx context.Context) error {
		texts, err := f.takeOver(ctx)
		ready <- texts
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("%v: %w", f, err)
	}
	f.texts = <-ready
	return f, nil
}

func detectFan(path string) string {
	base := filepath.Base(path)
	num, isPWM := strings.CutPrefix(base, "pwm")
	switch _, err := strconv.Atoi(num); {
	case base == "brightness":
		return "led"
	case base == "duty_cycle", isPWM && err == nil:
		return "pwm"
	}
	return "plain"
}

func checkLevels(levels []float64) error {
	last := 0.0
	for _, l := range levels {
		if !(l > last && l <= 1) {
			return fmt.Errorf("levels %v must rise from above 0 to 1", levels)
		}
		last = l
	}
	if last != 1 || len(levels) > math.MaxUint8 {
		return fmt.Errorf("levels %v must end in 1 and be 255 at most", levels)
	}
	return nil
}

// takeOver ends the kernel's own control of the file, puts the fan off and returns what each
// stage writes.
func (f *Fan) takeOver(ctx context.Context) ([]string, error) {
	if err := f.looksLikeOne(ctx); err != nil {
		return nil, err
	}
	texts, err := f.prepare(ctx)
	if err != nil {
		return nil, err
	}
	if err := f.write(ctx, texts[0]); err != nil {
		return nil, err
	}
	if dir, base := filepath.Split(f.o.Path); base == "duty_cycle" {
		err = put(ctx, dir+"enable", "1") // only now, so that no older duty runs the fan
	}
	return texts, err
}

// looksLikeOne refuses a file that holds anything but a number, which a mistyped path would
// otherwise overwrite.
func (f *Fan) looksLikeOne(ctx context.Context) error {
	b, err := slurp(ctx, f.o.Path)
	if errors.Is(err, os.ErrNotExist) {
		return nil // writing will make it or say so
	}
	if err != nil {
		return err
	}
	text := strings.TrimSpace(string(b))
	if _, err := strconv.ParseInt(text, 10, 64); err != nil && text != "" {
		return fmt.Errorf("it holds %s; a fan file holds a whole number: %w", show(b), device.ErrFormat)
	}
	return nil
}

// prepare ends the kernel's own control of the file and returns what each stage writes.
func (f *Fan) prepare(ctx context.Context) ([]string, error) {
	dir, base := filepath.Split(f.o.Path)
	largest := int64(1)
	var err error
	switch {
	case f.o.Format == "led":
		if err = put(ctx, dir+"trigger", "none"); err == nil {
			largest, err = limit(ctx, dir+"max_brightness", 1)
		}
	case f.o.Format == "pwm" && base == "duty_cycle":
		largest, err = limit(ctx, dir+"period", 0)
	case f.o.Format == "pwm":
		largest = 255
		err = put(ctx, f.o.Path+"_enable", "1") // 1 is "by hand" in hwmon
	}
	if err != nil {
		return nil, err
	}
	return stageTexts(f.o.Levels, largest, f.o.ActiveLow)
}

// stageTexts turns levels into the numbers that are written, off first.
func stageTexts(levels []float64, largest int64, low bool) ([]string, error) {
	var texts []string
	for _, l := range append([]float64{0}, levels...) {
		n := int64(math.Round(l * float64(largest)))
		if low {
			n = largest - n
		}
		text := strconv.FormatInt(n, 10)
		if slices.Contains(texts, text) {
			return nil, fmt.Errorf("levels %v cannot be told apart in a file that takes 0 to %d; use fewer levels or a pwm file",
				levels, largest)
		}
		texts = append(texts, text)
	}
	return texts, nil
}

// limit reads the largest number a file takes from the file beside it.
func limit(ctx context.Context, path string, missing int64) (int64, error) {
	b, err := slurp(ctx, path)
	if errors.Is(err, os.ErrNotExist) && missing > 0 {
		return missing, nil
	}
	if err != nil {
		return 0, fmt.Errorf("%s: %w", path, err)
	}
	n, err := strconv.ParseInt(strings.TrimSpace(string(b)), 10, 64)
	if err != nil || n < 1 {
		return 0, fmt.Errorf("%s holds %s; expected a whole number from 1: %w", path, show(b), device.ErrFormat)
	}
	return n, nil
}

// put writes to a file beside the fan's, if there is one.
func put(ctx context.Context, path, text string) error {
	w, release, err := open(ctx, path, os.O_WRONLY|os.O_TRUNC)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err == nil {
		defer release()
		_, err = w.WriteString(text)
	}
	if err != nil {
		return fmt.Errorf("writing %s to %s: %w", text, path, plain(err))
	}
	return nil
}

// String names the fan and its file.
func (f *Fan) String() string { return "fan " + f.o.Name + " at " + f.o.Path }

// Set writes the number of a stage and reads it back. It gives ErrAbsent where there is no such
// file and ErrBusy while an earlier Set hangs.
func (f *Fan) Set(ctx context.Context, stage device.Stage) error {
	if f.gone {
		return fmt.Errorf("%v: %w", f, os.ErrClosed)
	}
	return f.set(ctx, false, stage)
}

func (f *Fan) set(ctx context.Context, wait bool, stage device.Stage) error {
	if int(stage) >= len(f.texts) {
		return fmt.Errorf("%v: no stage %d; it has %d", f, stage, len(f.texts)-1)
	}
	err := f.slot.do(ctx, wait, func(ctx context.Context) error { return f.write(ctx, f.texts[stage]) })
	if err != nil {
		return fmt.Errorf("%v: %w", f, err)
	}
	return nil
}

// write writes in place, since sysfs does not rename, and reads back.
func (f *Fan) write(ctx context.Context, text string) error {
	w, release, err := open(ctx, f.o.Path, f.flag)
	if err != nil {
		return err
	}
	info, err := w.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("it is %v; a fan needs a regular or sysfs file", info.Mode().Type())
	}
	if err == nil {
		_, err = w.WriteString(text)
	}
	release()
	if err != nil {
		return plain(err)
	}
	b, err := slurp(ctx, f.o.Path)
	if err != nil {
		return fmt.Errorf("reading back: %w", err)
	}
	if strings.TrimSpace(string(b)) != text {
		return fmt.Errorf("it holds %s after %s was written; something else may be driving it", show(b), text)
	}
	return nil
}

// Close puts the fan off. It waits for a call that is under way, 5 s at most, and says so where
// the fan could not be put off.
func (f *Fan) Close() error {
	if f.gone {
		return nil
	}
	f.gone = true
	return f.set(context.Background(), true, 0)
}
