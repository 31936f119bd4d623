package board

import (
	"errors"
	"io/fs"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/warthog618/go-gpiocdev"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"loambank/drivers/device"
)

// bench is a machine with GPIO chips, the kernel's side of it.
type bench struct {
	chips  map[string]*fakeChip
	fail   map[string]error // of opening
	opened int              // chips open now
}

type fakeChip struct {
	b      *bench
	lines  []string // their names
	holder string   // of every line; "" is free
	taken  []any    // options of the last request
	level  int
	held   bool
	fail   error // of using a line
	deny   error // of requesting one
}

func (b *bench) machine() chips {
	return chips{
		names: func() []string {
			var all []string
			for n := range b.chips {
				all = append(all, n)
			}
			slices.Sort(all)
			return all
		},
		open: func(name string) (chip, error) {
			if err := b.fail[name]; err != nil {
				return nil, &fs.PathError{Op: "open", Path: "/dev/" + name, Err: err}
			}
			c := b.chips[name]
			if c == nil {
				return nil, &fs.PathError{Op: "lstat", Path: "/dev/" + name, Err: fs.ErrNotExist}
			}
			c.b = b
			b.opened++
			return c, nil
		},
	}
}

func (c *fakeChip) Lines() int { return len(c.lines) }

func (c *fakeChip) LineInfo(i int) (gpiocdev.LineInfo, error) {
	return gpiocdev.LineInfo{Offset: i, Name: c.lines[i], Consumer: c.holder, Used: c.holder != ""}, nil
}

func (c *fakeChip) request(i int, o ...gpiocdev.LineReqOption) (line, error) {
	if c.holder != "" {
		return nil, syscall.EBUSY
	}
	if c.deny != nil {
		return nil, c.deny
	}
	c.taken = []any{i}
	for _, one := range o {
		c.taken = append(c.taken, one)
		if out, ok := one.(gpiocdev.OutputOption); ok {
			c.level = out[0]
		}
	}
	c.held = true
	return &fakeLine{c}, nil
}

func (c *fakeChip) Close() error { c.b.opened--; return nil }

type fakeLine struct{ c *fakeChip }

func (l *fakeLine) Value() (int, error) { return l.c.level, l.c.fail }

func (l *fakeLine) SetValue(v int) error {
	if l.c.fail == nil {
		l.c.level = v
	}
	return l.c.fail
}

func (l *fakeLine) Close() error { l.c.held = false; return l.c.fail }

func newBench() *bench {
	return &bench{chips: map[string]*fakeChip{
		"gpiochip0": {lines: []string{"ID_SDA", "GPIO17", "GPIO27"}},
		"gpiochip1": {lines: []string{"", "BT_ON", ""}},
	}}
}

func TestOutputIsAtItsLevelBeforeItIsAnOutput(t *testing.T) {
	for _, first := range []gpio.Level{gpio.Low, gpio.High} {
		b := newBench()
		o, err := newOutput(b.machine(), "GPIO17", first)
		if err != nil {
			t.Fatal(err)
		}
		c := b.chips["gpiochip0"]
		want := []any{1, gpiocdev.AsOutput(number(first)), gpiocdev.WithConsumer("loambank")}
		if len(c.taken) != 3 || c.taken[0] != want[0] || !slices.Equal(c.taken[1].(gpiocdev.OutputOption), want[1].(gpiocdev.OutputOption)) || c.taken[2] != want[2] {
			t.Errorf("asked for %v; want %v, in one request", c.taken, want)
		}
		if l, err := o.Level(); l != first || err != nil {
			t.Errorf("it is %v, %v; want %v", l, err, first)
		}
		if err := o.Out(!first); err != nil || c.level != number(!first) {
			t.Errorf("Out: %v, level %d", err, c.level)
		}
		if o.String() != "GPIO17 (gpiochip0:1)" || o.Name() != "GPIO17" || o.Number() != 1 {
			t.Errorf("it is called %v, %s, %d", o, o.Name(), o.Number())
		}
		if err := o.PWM(gpio.DutyHalf, physic.Hertz); err == nil {
			t.Error("pulse width was taken")
		}
		if err := errors.Join(o.Halt(), o.Close(), o.Close()); err != nil || c.held || c.level != number(!first) {
			t.Errorf("closed: %v, held %v, level %d; want let go as it is", err, c.held, c.level)
		}
		if err := o.Out(first); !errors.Is(err, fs.ErrClosed) || c.held {
			t.Errorf("after Close: %v, held %v; want ErrClosed", err, c.held)
		}
		if b.opened != 0 {
			t.Errorf("%d chips are left open", b.opened)
		}
	}
}

func TestInputIsPulledUp(t *testing.T) {
	b := newBench()
	in, err := newInput(b.machine(), "gpiochip1:2")
	if err != nil {
		t.Fatal(err)
	}
	c := b.chips["gpiochip1"]
	if want := []any{2, gpiocdev.AsInput, gpiocdev.WithPullUp, gpiocdev.WithConsumer("loambank")}; !slices.Equal(c.taken, want) {
		t.Errorf("asked for %v; want %v", c.taken, want)
	}
	for _, level := range []int{1, 0} {
		c.level = level
		if l, err := in.Level(); l != gpio.Level(level == 1) || err != nil {
			t.Errorf("at %d it reads %v, %v", level, l, err)
		}
	}
	if in.String() != "gpiochip1:2" {
		t.Errorf("it is called %v", in)
	}
	if err := in.Close(); err != nil || b.opened != 0 {
		t.Errorf("%v, %d chips left open", err, b.opened)
	}
	if _, err := in.Level(); !errors.Is(err, fs.ErrClosed) {
		t.Errorf("after Close: %v; want ErrClosed", err)
	}
}

func TestLinesThatCannotBeHad(t *testing.T) {
	tests := []struct {
		name  string
		line  string
		setup func(*bench)
		is    error
		want  string
	}{
		{
			"a machine without chips", "GPIO17", func(b *bench) { clear(b.chips) }, device.ErrAbsent,
			`the device is not there: no GPIO line named "GPIO17"; this machine has no gpiochip`,
		},
		{
			"a name that no line has", "GPIO71", nil, device.ErrAbsent,
			`no GPIO line named "GPIO71" on gpiochip0, gpiochip1; where lines have no names write the chip and the number, as gpiochip0:17`,
		},
		{"no name, although lines have none", "", nil, nil, "no GPIO line is named; name one such as GPIO17"},
		{
			"a name on two chips", "GPIO27", func(b *bench) { b.chips["gpiochip1"].lines[0] = "GPIO27" }, nil,
			`GPIO line "GPIO27" is on two chips; write gpiochip0:2 or gpiochip1:0`,
		},
		{"a chip that is not there", "gpiochip7:1", nil, device.ErrAbsent, "gpiochip7: the device is not there"},
		{"a number that is not there", "gpiochip0:3", nil, nil, "gpiochip0 has no line 3; it has 0 to 2"},
		{"a number below", "gpiochip0:-1", nil, nil, `GPIO line "gpiochip0:-1" has no number; write it as gpiochip0:17`},
		{"no number", "gpiochip0:GPIO17", nil, nil, "has no number"},
		{
			"no rights to the chip by number", "gpiochip0:1", func(b *bench) { b.fail = map[string]error{"gpiochip0": syscall.EACCES} }, fs.ErrPermission,
			"gpiochip0: permission denied; let the user of this program into the group that owns it",
		},
		{
			"no rights to a chip by name", "GPIO17", func(b *bench) { b.fail = map[string]error{"gpiochip0": syscall.EACCES} }, fs.ErrPermission,
			"gpiochip0: permission denied; let the user",
		},
		{
			"a second name of a chip is passed over", "GPIO71", func(b *bench) { b.fail = map[string]error{"gpiochip1": gpiocdev.ErrNotCharacterDevice} }, device.ErrAbsent,
			"as gpiochip0:17",
		},
		{
			"another program has it", "GPIO17", func(b *bench) { b.chips["gpiochip0"].holder = "onewire@11" }, syscall.EBUSY,
			`line GPIO17 (gpiochip0:1) is taken by "onewire@11": device or resource busy`,
		},
		{
			"another run has it", "GPIO17", func(b *bench) { b.chips["gpiochip0"].holder = "loambank" }, syscall.EBUSY,
			"is taken by loambank itself, another run of it or another device of this config",
		},
		{
			"the kernel refuses", "GPIO17", func(b *bench) { b.chips["gpiochip0"].deny = syscall.EINVAL }, syscall.EINVAL,
			"line GPIO17 (gpiochip0:1): invalid argument",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := newBench()
			if tt.setup != nil {
				tt.setup(b)
			}
			o, err1 := newOutput(b.machine(), tt.line, gpio.Low)
			in, err2 := newInput(b.machine(), tt.line)
			for _, err := range []error{err1, err2} {
				if err == nil || tt.is != nil && !errors.Is(err, tt.is) || !strings.Contains(err.Error(), tt.want) {
					t.Errorf("got  %v\nwant %s", err, tt.want)
				}
			}
			if o != nil || in != nil || b.opened != 0 {
				t.Errorf("%v, %v and %d chips are left open", o, in, b.opened)
			}
			if tt.name == "a second name of a chip is passed over" && strings.Contains(err1.Error(), "character") {
				t.Errorf("%v tells of it", err1)
			}
		})
	}
}

func TestOtherChipsMayBeShut(t *testing.T) {
	b := newBench()
	b.fail = map[string]error{"gpiochip1": syscall.EACCES}
	o, err := newOutput(b.machine(), "GPIO17", gpio.Low)
	if err != nil {
		t.Fatalf("the line is on a chip that opens: %v", err)
	}
	o.Close()
}

func TestAChipUnpluggedAndPluggedBack(t *testing.T) {
	b := newBench()
	c := b.chips["gpiochip0"]
	o, err := newOutput(b.machine(), "GPIO17", gpio.High)
	if err != nil {
		t.Fatal(err)
	}
	in, err := newInput(b.machine(), "GPIO27")
	if err != nil {
		t.Fatal(err)
	}
	c.fail = syscall.EIO
	if err := o.Out(gpio.Low); !errors.Is(err, syscall.EIO) || !c.held || !strings.HasPrefix(err.Error(), "line GPIO17 (gpiochip0:1): ") {
		t.Errorf("a fault that may pass: %v, held %v; want it named and the line kept", err, c.held)
	}
	c.fail = syscall.ENODEV
	delete(b.chips, "gpiochip0")
	for range 2 {
		if err := o.Out(gpio.Low); !errors.Is(err, device.ErrAbsent) {
			t.Errorf("unplugged: %v; want ErrAbsent", err)
		}
		if c.held {
			t.Error("unplugged: the line is still held")
		}
		if _, err := in.Level(); !errors.Is(err, device.ErrAbsent) {
			t.Errorf("unplugged: %v; want ErrAbsent", err)
		}
	}
	if _, err := o.Level(); !errors.Is(err, device.ErrAbsent) {
		t.Errorf("unplugged, read back: %v; want ErrAbsent", err)
	}
	c.fail, c.lines = nil, []string{"GPIO17", "GPIO27"}
	b.chips["gpiochip2"] = c
	c.level = 1
	if err := o.Out(gpio.Low); err != nil || c.level != 0 || o.String() != "GPIO17 (gpiochip2:0)" {
		t.Errorf("plugged back: %v, level %d, %v; want it found again", err, c.level, o)
	}
	c.level = 1
	if l, err := in.Level(); l != gpio.High || err != nil {
		t.Errorf("plugged back: %v, %v; want high", l, err)
	}
	if b.opened != 0 {
		t.Errorf("%d chips are left open", b.opened)
	}
}
