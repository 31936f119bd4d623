package ds18b20

import (
	"bytes"
	"fmt"

	"periph.io/x/conn/v3/onewire"

	"loambank/drivers/device"
)

// Family codes, the first byte of an address.
const (
	ds18s20 = 0x10
	ds1822  = 0x22
	ds18b20 = 0x28
)

// A scratchpad is what the chip holds: the temperature, least significant byte first, two alarm
// bytes, the configuration, three reserved bytes and the checksum. A DS18S20 has no configuration
// and holds in bytes 6 and 7 how far its counter had come.
type scratchpad [9]byte

// check returns the resolution, bits, of a scratchpad that came over the wire whole.
func (s scratchpad) check(family byte) (int, error) {
	switch {
	case bytes.Count(s[:], []byte{0xff}) == len(s):
		return 0, fmt.Errorf("%w: nothing drives the wire when it is asked", device.ErrAbsent)
	case s == scratchpad{}:
		// The checksum of zeros is zero, so it would pass, as 0 °C.
		return 0, fmt.Errorf("all bytes are zero, as on a shorted wire: %w", device.ErrFormat)
	case !onewire.CheckCRC(s[:]):
		return 0, fmt.Errorf("it answers % x: %w", s[:], device.ErrCRC)
	case family == ds18s20 && (s[7] == 0 || s[6] > s[7]):
		return 0, fmt.Errorf("it answers % x, whose counter of %d in %d cannot be: %w", s[:], s[6], s[7], device.ErrFormat)
	case family == ds18s20:
		return 12, nil // 9 in the register, 12 with the counter
	case s[4]&^0x60 != 0x1f:
		return 0, fmt.Errorf("it answers % x, whose configuration %02x cannot be: %w", s[:], s[4], device.ErrFormat)
	}
	return 9 + int(s[4]>>5), nil
}

// config returns the configuration byte of a resolution.
func config(bits int) byte { return byte(bits-9)<<5 | 0x1f }

// celsius returns the temperature, °C, of a scratchpad that has passed check with those bits.
func (s scratchpad) celsius(family byte, bits int) (float64, error) {
	raw := int16(uint16(s[1])<<8 | uint16(s[0]))
	t := float64(raw&^(1<<(12-bits)-1)) / 16 // the bits below the resolution are undefined
	low, high := -55.0, 125.0
	if family == ds18s20 {
		// TEMPERATURE = TEMP_READ − 0.25 + (COUNT_PER_C − COUNT_REMAIN) / COUNT_PER_C, where
		// TEMP_READ is the register without its half degree.
		t = float64(raw>>1) - 0.25 + float64(s[7]-s[6])/float64(s[7])
		low, high = low-0.25, high+0.75
	}
	if t < low || t > high {
		return 0, fmt.Errorf("it answers % x, which is %g °C and outside -55..125 °C: %w", s[:], t, device.ErrFormat)
	}
	if t == 85 {
		return 0, fmt.Errorf("it reads 85.000 °C: %w", device.ErrPowerOn)
	}
	return t, nil
}
