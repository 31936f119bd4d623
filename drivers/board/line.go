package board

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"

	"github.com/warthog618/go-gpiocdev"

	"loambank/drivers/device"
)

// consumer is the name under which other programs see who holds a line.
const consumer = "loambank"

// chips are the GPIO chips of the machine, found afresh each time.
type chips struct {
	names func() []string
	open  func(name string) (chip, error)
}

// chip is one GPIO chip, open.
type chip interface {
	Lines() int
	LineInfo(offset int) (gpiocdev.LineInfo, error)
	request(offset int, o ...gpiocdev.LineReqOption) (line, error)
	Close() error
}

// line is one line that is held.
type line interface {
	Value() (int, error)
	SetValue(int) error
	Close() error
}

func machine() chips {
	return chips{names: gpiocdev.Chips, open: func(name string) (chip, error) {
		c, err := gpiocdev.NewChip(name)
		if err != nil {
			return nil, err
		}
		return kernelChip{c}, nil
	}}
}

type kernelChip struct{ *gpiocdev.Chip }

func (c kernelChip) request(offset int, o ...gpiocdev.LineReqOption) (line, error) {
	l, err := c.RequestLine(offset, o...)
	if err != nil {
		return nil, err
	}
	return l, nil
}

// held is a line that is held, or was.
type held struct {
	chips  chips
	name   string // as configured
	number int    // on its chip
	at     string // chip:number
	line   line   // nil after its chip was unplugged, and after Close
	gone   bool   // closed
}

// String names the line and where it is.
func (h *held) String() string {
	if h.at == "" || h.name == h.at {
		return h.name
	}
	return h.name + " (" + h.at + ")"
}

// take finds the line and holds it, as the options say.
func (h *held) take(o ...gpiocdev.LineReqOption) error {
	if h.gone {
		return fmt.Errorf("line %v: %w", h, fs.ErrClosed)
	}
	c, name, number, err := h.chips.find(h.name)
	if err != nil {
		return err
	}
	defer c.Close()
	h.at, h.number = fmt.Sprintf("%s:%d", name, number), number
	h.line, err = c.request(number, append(o, gpiocdev.WithConsumer(consumer))...)
	if errors.Is(err, syscall.EBUSY) {
		return fmt.Errorf("line %v is taken by %s: %w", h, holder(c, number), err)
	}
	if err != nil {
		return fmt.Errorf("line %v: %w", h, err)
	}
	return nil
}

func holder(c chip, number int) string {
	info, err := c.LineInfo(number)
	switch {
	case err != nil || info.Consumer == "":
		return "something that gives no name"
	case info.Consumer == consumer:
		return "loambank itself, another run of it or another device of this config"
	}
	return fmt.Sprintf("%.40q", info.Consumer)
}

// find opens the chip of a line that is given by its own name, such as GPIO17, or by its chip and
// number, such as gpiochip0:17. The caller closes the chip.
func (cs chips) find(name string) (chip, string, int, error) {
	if name == "" {
		return nil, "", 0, errors.New("no GPIO line is named; name one such as GPIO17")
	}
	if on, text, ok := strings.Cut(name, ":"); ok && strings.HasPrefix(on, "gpiochip") {
		return cs.numbered(on, text)
	}
	all := cs.names()
	if len(all) == 0 {
		return nil, "", 0, fmt.Errorf("%w: no GPIO line named %.40q; this machine has no gpiochip", device.ErrAbsent, name)
	}
	var found chip
	var at string
	var number int
	var faults []error
	for _, n := range all {
		c, err := cs.open(n)
		if err != nil {
			if !errors.Is(err, gpiocdev.ErrNotCharacterDevice) { // a second name of another chip
				faults = append(faults, fmt.Errorf("%s: %w", n, reason(err)))
			}
			continue
		}
		i := offset(c, name)
		switch {
		case i < 0:
			c.Close()
		case found != nil:
			c.Close()
			found.Close()
			return nil, "", 0, fmt.Errorf("GPIO line %.40q is on two chips; write %s:%d or %s:%d", name, at, number, n, i)
		default:
			found, at, number = c, n, i
		}
	}
	if found == nil {
		err := fmt.Errorf("%w: no GPIO line named %.40q on %s; where lines have no names write the chip and the number, as gpiochip0:17",
			device.ErrAbsent, name, strings.Join(all, ", "))
		return nil, "", 0, errors.Join(append([]error{err}, faults...)...)
	}
	return found, at, number, nil
}

// offset returns the number of a line on its chip, -1 where it is not there.
func offset(c chip, name string) int {
	for i := range c.Lines() {
		if info, err := c.LineInfo(i); err == nil && info.Name == name {
			return i
		}
	}
	return -1
}

func (cs chips) numbered(on, text string) (chip, string, int, error) {
	number, err := strconv.Atoi(text)
	if err != nil || number < 0 {
		return nil, "", 0, fmt.Errorf("GPIO line %.40q has no number; write it as gpiochip0:17", on+":"+text)
	}
	// The kernel's own name, where this is a second one.
	if real, err := filepath.EvalSymlinks("/dev/" + on); err == nil {
		on = filepath.Base(real)
	}
	c, err := cs.open(on)
	if err != nil {
		return nil, "", 0, fmt.Errorf("%s: %w", on, reason(err))
	}
	if number >= c.Lines() {
		n := c.Lines()
		c.Close()
		return nil, "", 0, fmt.Errorf("%s has no line %d; it has 0 to %d", on, number, n-1)
	}
	return c, on, number, nil
}

// reason says why a chip cannot be opened.
func reason(err error) error {
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		err = pe.Err
	}
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENODEV), errors.Is(err, syscall.ENXIO):
		return fmt.Errorf("%w: %w", device.ErrAbsent, err)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%w; let the user of this program into the group that owns it", err)
	}
	return err
}

// value returns what the line is at.
func (h *held) value() (int, error) {
	if h.line == nil {
		return 0, fmt.Errorf("line %v: %w", h, device.ErrAbsent)
	}
	v, err := h.line.Value()
	return v, h.fault(err)
}

// fault lets go of a line whose chip has gone, so that it can be found again.
func (h *held) fault(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENODEV), errors.Is(err, syscall.ENXIO):
		h.line.Close() // there is nothing left to let go of
		h.line = nil
		err = fmt.Errorf("%w: %w", device.ErrAbsent, err)
	}
	return fmt.Errorf("line %v: %w", h, err)
}

// Close lets the line go as it is. What the wire does then is up to the board: some boards turn
// the line back into an input. It may be called twice.
func (h *held) Close() error {
	h.gone = true
	if h.line == nil {
		return nil
	}
	l := h.line
	h.line = nil
	if err := l.Close(); err != nil {
		return fmt.Errorf("line %v: %w", h, err)
	}
	return nil
}
