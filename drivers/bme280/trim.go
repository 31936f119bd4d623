package bme280

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"loambank/drivers/device"
)

// trim is the calibration of one chip, named as in table 16 of the data sheet.
type trim struct {
	t [4]float64  // dig_T1 to dig_T3; the first element is not used
	p [10]float64 // dig_P1 to dig_P9
	h [7]float64  // dig_H1 to dig_H6; all zero in a BMP280
}

// readTrim reads the registers 0x88..0xa1 and 0xe1..0xe7.
func readTrim(first, second []byte) (trim, error) {
	if b := first[:24]; bytes.Count(b, b[:1]) == len(b) {
		return trim{}, fmt.Errorf("its calibration reads %02x throughout: %w", b[0], device.ErrFormat)
	}
	var c trim
	word := func(b []byte) uint16 { return binary.LittleEndian.Uint16(b) }
	signed := func(b []byte) float64 { return float64(int16(word(b))) }
	c.t[1] = float64(word(first))
	c.t[2], c.t[3] = signed(first[2:]), signed(first[4:])
	c.p[1] = float64(word(first[6:]))
	for i := 2; i <= 9; i++ {
		c.p[i] = signed(first[4+2*i:])
	}
	c.h[1] = float64(first[25])
	c.h[2] = signed(second)
	c.h[3] = float64(second[2])
	// dig_H4 and dig_H5 are signed numbers of 12 bits that share a byte.
	c.h[4] = float64(int16(second[3])<<8>>4 | int16(second[4]&0x0f))
	c.h[5] = float64(int16(second[5])<<8>>4 | int16(second[4]>>4))
	c.h[6] = float64(int8(second[6]))
	return c, nil
}

// tFine returns the temperature in 1/5120 °C, which the other two quantities need. Data sheet,
// section 8.1, "Compensation formulas in double precision floating point", as for those.
func (c trim) tFine(adcT float64) float64 {
	var1 := (adcT/16384 - c.t[1]/1024) * c.t[2]
	var2 := adcT/131072 - c.t[1]/8192
	return var1 + var2*var2*c.t[3]
}

// pressurePa returns the pressure, Pa. It gives ErrFormat where the calibration allows none, or
// the pressure is outside 30 000..110 000 Pa.
func (c trim) pressurePa(adcP, tFine float64) (float64, error) {
	var1 := tFine/2 - 64000
	var2 := var1 * var1 * c.p[6] / 32768
	var2 += var1 * c.p[5] * 2
	var2 = var2/4 + c.p[4]*65536
	var1 = (c.p[3]*var1*var1/524288 + c.p[2]*var1) / 524288
	var1 = (1 + var1/32768) * c.p[1]
	if var1 == 0 {
		return 0, fmt.Errorf("its calibration allows no pressure: %w", device.ErrFormat)
	}
	p := (1048576 - adcP - var2/4096) * 6250 / var1
	p += (c.p[9]*p*p/2147483648 + p*c.p[8]/32768 + c.p[7]) / 16
	if p < 30_000 || p > 110_000 {
		return 0, fmt.Errorf("it answers %g Pa, outside 30000..110000 Pa: %w", p, device.ErrFormat)
	}
	return p, nil
}

// humidity returns the humidity, 0 to 1.
func (c trim) humidity(adcH, tFine float64) float64 {
	h := tFine - 76800
	h = (adcH - (c.h[4]*64 + c.h[5]/16384*h)) *
		(c.h[2] / 65536 * (1 + c.h[6]/67108864*h*(1+c.h[3]/67108864*h)))
	h *= 1 - c.h[1]*h/524288
	return min(max(h/100, 0), 1)
}
