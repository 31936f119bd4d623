package find

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"periph.io/x/conn/v3/i2c"

	"loambank/drivers/chip"
	"loambank/drivers/device"
)

// question finds out which driver knows the chip at an address, and says how it was told.
type question func(*asking) (driver, how string)

// tests are the addresses of known chips and the question that is asked there.
var tests = [...]struct {
	first, last uint16
	ask         question
}{
	{0x44, 0x46, askSHT},
	{0x48, 0x4b, askADS},
	{0x60, 0x67, askDAC},
	{0x76, 0x77, askBME},
}

// asking is one address that is asked.
type asking struct {
	ctx      context.Context
	bus      i2c.Bus
	addr     uint16
	sleep    func(context.Context, time.Duration) error
	answered bool  // something acknowledged
	fault    error // of the bus
}

// tx makes one transfer and reports whether the chip took part.
func (a *asking) tx(w, r []byte) bool {
	if a.fault != nil {
		return false
	}
	err := a.bus.Tx(a.addr, w, r)
	switch {
	case err == nil:
		a.answered = true
		return true
	case !errors.Is(err, device.ErrAbsent):
		a.fault = err
	}
	return false
}

// words sends an order that only asks and returns the words of the answer, whose checksums are
// right.
func (a *asking) words(n int, order ...byte) []uint16 {
	if !a.tx(order, nil) {
		return nil
	}
	if err := a.sleep(a.ctx, 2*time.Millisecond); err != nil {
		a.fault = err
		return nil
	}
	answer := make([]byte, 3*n)
	if !a.tx(nil, answer) {
		return nil
	}
	words, err := chip.Words(answer)
	if err != nil {
		return nil
	}
	return words
}

// askSHT asks for the serial number of an SHT4x, an order of one byte, which an SHT3x does not take;
// and that for its status. Data sheets of both.
func askSHT(a *asking) (driver, how string) {
	if w := a.words(2, 0x89); w != nil {
		return "sht4x", fmt.Sprintf("by its serial number, %04x%04x", w[0], w[1])
	}
	if a.addr == 0x46 { // no SHT3x has it
		return "", ""
	}
	if w := a.words(1, 0xf3, 0x2d); w != nil {
		return "sht3x", fmt.Sprintf("by its status register, %04x, with its checksum", w[0])
	}
	return "", ""
}

// askADS reads the two thresholds, which are 8000 and 7fff in an ADS1115 unless a program has set
// them. Data sheet SBAS444, table 8-5 (from memory).
func askADS(a *asking) (driver, how string) {
	low, high := make([]byte, 2), make([]byte, 2)
	if !a.tx([]byte{2}, low) || !a.tx([]byte{3}, high) {
		return "", ""
	}
	if binary.BigEndian.Uint16(low) != 0x8000 || binary.BigEndian.Uint16(high) != 0x7fff {
		return "", ""
	}
	return "ads1115", "by its two threshold registers, 8000 and 7fff"
}

// askDAC reads five bytes without telling anything first. Only where nothing answers that, at the
// address of an SCD4x, that chip is asked whether it has data: it says so at any time.
func askDAC(a *asking) (driver, how string) {
	first, again := make([]byte, 5), make([]byte, 5)
	silent := !a.tx(nil, first) || bytes.Count(first, []byte{0xff}) == len(first)
	switch {
	case silent && a.addr == 0x62:
		if w := a.words(1, 0xe4, 0xb8); w != nil {
			return "scd4x", "by its answer, with checksum, whether it has data"
		}
		return "", ""
	case silent || !a.tx(nil, again) || !bytes.Equal(first, again):
		return "", ""
	}
	// Ready, powered on, and zero where the data sheet of the MCP4725 has no meaning (figure 6-3; that
	// these read as zero is from memory).
	if first[0]&0xf9 == 0xc0 && first[2]&0x0f == 0 && first[3]&0x90 == 0 {
		return "dac", fmt.Sprintf("probably, by the form of its five bytes, % x", first)
	}
	return "", ""
}

// askBME reads the chip's number, 60 of a BME280 and 58 of a BMP280.
func askBME(a *asking) (driver, how string) {
	id := make([]byte, 1)
	if !a.tx([]byte{0xd0}, id) {
		return "", ""
	}
	switch id[0] {
	case 0x60:
		return "bme280", "by its number, 60"
	case 0x58:
		return "bmp280", "a BMP280 by its number, 58: it has no humidity"
	}
	return "", ""
}
