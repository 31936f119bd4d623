package board

import (
	"errors"
	"io/fs"
	"strings"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"
	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/device"
)

func TestLinesAreListedWithWhoHoldsThem(t *testing.T) {
	b := newBench()
	b.chips["gpiochip1"].holder = "bell"
	got, err := b.machine().lines()
	if err != nil {
		t.Fatal(err)
	}
	want := []Line{
		{Chip: "gpiochip0", Number: 0, Name: "ID_SDA"},
		{Chip: "gpiochip0", Number: 1, Name: "GPIO17"},
		{Chip: "gpiochip0", Number: 2, Name: "GPIO27"},
		{Chip: "gpiochip1", Number: 0, Used: true, Holder: "bell"},
		{Chip: "gpiochip1", Number: 1, Name: "BT_ON", Used: true, Holder: "bell"},
		{Chip: "gpiochip1", Number: 2, Used: true, Holder: "bell"},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if b.opened != 0 {
		t.Errorf("%d chips are left open", b.opened)
	}
}

func TestAChipThatCannotBeAskedHidesNoOther(t *testing.T) {
	b := newBench()
	b.fail = map[string]error{"gpiochip0": syscall.EACCES}
	got, err := b.machine().lines()
	if len(got) != 3 || got[0].Chip != "gpiochip1" {
		t.Errorf("listed %v; want the lines of gpiochip1", got)
	}
	if !errors.Is(err, fs.ErrPermission) || !strings.Contains(err.Error(), "gpiochip0: ") {
		t.Errorf("error %v; want one that names gpiochip0 and its permission", err)
	}
}

func TestBusesAreNamedInTheOrderOfTheirNumbers(t *testing.T) {
	table := table[i2c.BusCloser]{listed: func() []listed[i2c.BusCloser] {
		return []listed[i2c.BusCloser]{
			{name: "/dev/i2c-11", aliases: []string{"I2C11"}, number: 11},
			{name: "odd", number: -1},
			{name: "/dev/i2c-2", aliases: []string{"I2C2"}, number: 2},
		}
	}}
	if d := cmp.Diff([]string{"I2C2", "I2C11", "odd"}, table.names()); d != "" {
		t.Error(d)
	}
	table.listed = func() []listed[i2c.BusCloser] { return nil }
	if got := table.names(); got != nil {
		t.Errorf("no bus is %v", got)
	}
	if _, err := table.find(""); !errors.Is(err, device.ErrAbsent) {
		t.Errorf("opening none gives %v; want ErrAbsent", err)
	}
}
