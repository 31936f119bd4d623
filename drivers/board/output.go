package board

import (
	"fmt"

	"github.com/warthog618/go-gpiocdev"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"
)

// Output is a GPIO line that puts out a level. It is a gpio.PinOut whose levels are those of the
// wire. It is used by one goroutine at a time.
type Output struct{ held }

var _ gpio.PinOut = (*Output)(nil)

// NewOutput takes the line of that name, such as GPIO17, or of that chip and number, such as
// gpiochip0:17, and puts it at the level first, before it becomes an output.
func NewOutput(name string, first gpio.Level) (*Output, error) {
	return newOutput(machine(), name, first)
}

func newOutput(cs chips, name string, first gpio.Level) (*Output, error) {
	o := &Output{held{chips: cs, name: name}}
	if err := o.take(gpiocdev.AsOutput(number(first))); err != nil {
		return nil, err
	}
	return o, nil
}

// Out puts the line at a level. Where its chip was unplugged, it is taken afresh at that level.
func (o *Output) Out(l gpio.Level) error {
	if o.line == nil {
		return o.take(gpiocdev.AsOutput(number(l)))
	}
	return o.fault(o.line.SetValue(number(l)))
}

// Level reads back what the wire is at. The line stays an output.
func (o *Output) Level() (gpio.Level, error) {
	v, err := o.value()
	return v != 0, err
}

// Name returns the name of the line as it was given.
func (o *Output) Name() string { return o.name }

// Number returns the number of the line on its chip.
func (o *Output) Number() int { return o.number }

// Function returns what the line is used for.
func (o *Output) Function() string { return string(gpio.OUT) }

// Halt changes nothing.
func (o *Output) Halt() error { return nil }

// PWM is refused.
func (o *Output) PWM(gpio.Duty, physic.Frequency) error {
	return fmt.Errorf("line %v has no pulse width; use a file of the kernel's pwm", o)
}

func number(l gpio.Level) int {
	if l {
		return 1
	}
	return 0
}
