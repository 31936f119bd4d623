package board

import (
	"github.com/warthog618/go-gpiocdev"
	"periph.io/x/conn/v3/gpio"
)

// Input is a GPIO line that is read, held high by the board's own resistor unless something pulls
// it to ground. It is used by one goroutine at a time.
type Input struct{ held }

// NewInput takes the line of that name, as NewOutput does. A line that is not there is an error.
func NewInput(name string) (*Input, error) { return newInput(machine(), name) }

func newInput(cs chips, name string) (*Input, error) {
	i := &Input{held{chips: cs, name: name}}
	if err := i.take(gpiocdev.AsInput, gpiocdev.WithPullUp); err != nil {
		return nil, err
	}
	return i, nil
}

// Level reads what the wire is at. Where the chip of the line was unplugged, the line is taken
// afresh.
func (i *Input) Level() (gpio.Level, error) {
	if i.line == nil {
		if err := i.take(gpiocdev.AsInput, gpiocdev.WithPullUp); err != nil {
			return gpio.Low, err
		}
	}
	v, err := i.value()
	return v != 0, err
}
