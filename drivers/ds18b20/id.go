package ds18b20

import (
	"encoding/binary"
	"fmt"
	"regexp"
	"strconv"

	"periph.io/x/conn/v3/onewire"
)

var idForm = regexp.MustCompile(`^[0-9a-fA-F]{2}-[0-9a-fA-F]{12}$`)

// ParseID reads the name that the Linux kernel gives a 1-Wire device, such as 28-0000075a1c01:
// its family code and its serial number, most significant byte first. The address goes out on
// the wire the other way round, and ends in a checksum which the name leaves out.
func ParseID(id string) (onewire.Address, error) {
	if !idForm.MatchString(id) {
		return 0, fmt.Errorf("%.40q is not a 1-Wire id; it is written like 28-0000075a1c01, as /sys/bus/w1/devices shows it", id)
	}
	family, err := strconv.ParseUint(id[:2], 16, 8)
	if err != nil {
		return 0, err
	}
	serial, err := strconv.ParseUint(id[3:], 16, 48)
	if err != nil {
		return 0, err
	}
	a := family | serial<<8
	return onewire.Address(a | uint64(onewire.CalcCRC(wire(a)[:7]))<<56), nil
}

// FormatID is the way back from ParseID.
func FormatID(a onewire.Address) string {
	return fmt.Sprintf("%02x-%012x", byte(a), uint64(a)>>8&0xffff_ffff_ffff)
}

// wire returns the bytes of an address in the order in which they are sent.
func wire(a uint64) []byte { return binary.LittleEndian.AppendUint64(nil, a) }
