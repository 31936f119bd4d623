package modbus

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	wire "github.com/simonvetter/modbus"

	"loambank/drivers/device"
)

// Table is one of the four tables of a station.
type Table uint8

// The tables.
const (
	Holding  Table = iota // words that are read and written
	Input                 // words that are read
	Coil                  // bits that are read and written
	Discrete              // bits that are read
)

var tables = [...]string{"holding", "input", "coil", "discrete"}

// String returns the word for a table.
func (t Table) String() string { return tables[t] }

// Bits reports whether the table holds bits and not words.
func (t Table) Bits() bool { return t >= Coil }

// Type is how a number stands in one or two words.
type Type uint8

// The types. Uint16 is the zero value.
const (
	Uint16 Type = iota
	Int16
	Uint32
	Int32
	Float32
)

var types = [...]string{"uint16", "int16", "uint32", "int32", "float32"}

// String returns the word for a type.
func (t Type) String() string { return types[t] }

// words is how many registers a value takes.
func (t Type) words() uint16 {
	if t >= Uint32 {
		return 2
	}
	return 1
}

// ParseType reads a type, "" as Uint16.
func ParseType(text string) (Type, error) {
	for i, word := range types {
		if text == word || text == "" {
			return Type(i), nil
		}
	}
	return 0, fmt.Errorf("%.40q is no type; write %s", text, strings.Join(types[:], ", "))
}

// Register is where a value stands in a station, and how.
type Register struct {
	Table    Table
	Address  uint16 // as it is sent, from 0: what many manuals call 40101 is Holding 100
	Type     Type   // of words; bits have none
	LowFirst bool   // of two words the low one comes first; the standard has the high one first
}

// ParseRegister reads "holding 100": a table, and an address from 0 to 65535.
func ParseRegister(text string) (Register, error) {
	word, number, _ := strings.Cut(strings.TrimSpace(text), " ")
	address, err := strconv.ParseUint(strings.TrimSpace(number), 10, 16)
	for i, t := range tables {
		if t == word && err == nil {
			return Register{Table: Table(i), Address: uint16(address)}, nil
		}
	}
	return Register{}, fmt.Errorf(`%.40q is no register; write its table (holding, input, coil or discrete) and its address from 0, as in "holding 100"`, text)
}

// String returns the register as ParseRegister reads it.
func (r Register) String() string { return r.Table.String() + " " + strconv.Itoa(int(r.Address)) }

// Encode turns a value into the words to send. A value that the type cannot hold exactly is an
// error, but a float32 is rounded.
func (r Register) Encode(v float64) ([]uint16, error) {
	limits := [...][2]float64{
		Uint16: {0, math.MaxUint16}, Int16: {math.MinInt16, math.MaxInt16},
		Uint32: {0, math.MaxUint32}, Int32: {math.MinInt32, math.MaxInt32}, Float32: {-math.MaxFloat32, math.MaxFloat32},
	}[r.Type]
	if r.Table.Bits() {
		limits = [2]float64{0, 1}
	}
	whole := v == math.Trunc(v) || r.Type == Float32
	if !(v >= limits[0] && v <= limits[1]) || !whole {
		return nil, fmt.Errorf("%v does not fit into %v of type %v", v, r, r.Type)
	}
	switch r.Type {
	case Float32:
		return r.pair(math.Float32bits(float32(v))), nil
	case Uint32, Int32:
		return r.pair(uint32(int64(v))), nil
	}
	return []uint16{uint16(int64(v))}, nil
}

func (r Register) pair(bits uint32) []uint16 {
	if r.LowFirst {
		return []uint16{uint16(bits), uint16(bits >> 16)}
	}
	return []uint16{uint16(bits >> 16), uint16(bits)}
}

// Decode turns the words of an answer into a value. It gives ErrFormat for a number of words that
// is not the type's, and for a float that is not finite.
func (r Register) Decode(words []uint16) (float64, error) {
	if len(words) != int(r.Type.words()) {
		return 0, fmt.Errorf("%w: %d words instead of %d", device.ErrFormat, len(words), r.Type.words())
	}
	switch r.Type {
	case Uint16:
		return float64(words[0]), nil
	case Int16:
		return float64(int16(words[0])), nil
	}
	high, low := words[0], words[1]
	if r.LowFirst {
		high, low = low, high
	}
	bits := uint32(high)<<16 | uint32(low)
	switch r.Type {
	case Uint32:
		return float64(bits), nil
	case Int32:
		return float64(int32(bits)), nil
	}
	v := float64(math.Float32frombits(bits))
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%w: the words %#04x, %#04x are no finite number", device.ErrFormat, words[0], words[1])
	}
	return v, nil
}

// read asks a station for the words of the register, or for its bit as one word.
func (r Register) read(c *wire.ModbusClient) ([]uint16, error) {
	bit := func(v bool, err error) ([]uint16, error) {
		if v {
			return []uint16{1}, err
		}
		return []uint16{0}, err
	}
	switch r.Table {
	case Coil:
		return bit(c.ReadCoil(r.Address))
	case Discrete:
		return bit(c.ReadDiscreteInput(r.Address))
	case Input:
		return c.ReadRegisters(r.Address, r.Type.words(), wire.INPUT_REGISTER)
	}
	return c.ReadRegisters(r.Address, r.Type.words(), wire.HOLDING_REGISTER)
}

// write sends words, with the function for a single one where it is single: some drives of motors
// know no other.
func (r Register) write(c *wire.ModbusClient, words []uint16) error {
	switch {
	case r.Table == Coil:
		return c.WriteCoil(r.Address, words[0] != 0)
	case len(words) == 1:
		return c.WriteRegister(r.Address, words[0])
	}
	return c.WriteRegisters(r.Address, words)
}
