package chip

import (
	"encoding/binary"
	"fmt"

	"loambank/drivers/device"
)

// Words reads 16-bit numbers, most significant byte first, each followed by its checksum, as the
// humidity and carbon dioxide chips of the SHT and SCD families send them. It gives ErrAbsent where
// nothing drives the wire, ErrCRC where a checksum does not match and ErrFormat where bytes are
// missing.
func Words(b []byte) ([]uint16, error) {
	if len(b)%3 != 0 {
		return nil, fmt.Errorf("it answers % x, where words of three bytes belong: %w", b, device.ErrFormat)
	}
	idle := true
	for _, v := range b {
		idle = idle && v == 0xff
	}
	if idle && len(b) > 0 { // the checksum of ff ff is ac
		return nil, fmt.Errorf("%w: nothing drives the wire when it is asked", device.ErrAbsent)
	}
	var words []uint16
	for i := 0; i < len(b); i += 3 {
		if CRC8(b[i:i+2]) != b[i+2] {
			return nil, fmt.Errorf("it answers % x: %w", b, device.ErrCRC)
		}
		words = append(words, binary.BigEndian.Uint16(b[i:]))
	}
	return words, nil
}

// CRC8 returns the checksum of bytes: polynomial x⁸ + x⁵ + x⁴ + 1 (0x31), first value 0xff, most
// significant bit first, not turned round at the end. Data sheet of the SHT4x, "Checksum
// calculation".
func CRC8(b []byte) byte {
	crc := byte(0xff)
	for _, v := range b {
		crc ^= v
		for range 8 {
			if crc&0x80 != 0 {
				crc = crc<<1 ^ 0x31
			} else {
				crc <<= 1
			}
		}
	}
	return crc
}
