package history

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// appendWord writes a word in as few bytes as its zero bytes at both ends allow: a byte that says
// how many were left off behind and how many follow, then those. Zero is one zero byte.
func appendWord(b []byte, word uint64) []byte {
	if word == 0 {
		return append(b, 0)
	}
	behind := bits.TrailingZeros64(word) / 8
	n := 8 - bits.LeadingZeros64(word)/8 - behind
	b = append(b, byte(behind<<4|n))
	word >>= 8 * behind
	for i := n - 1; i >= 0; i-- {
		b = append(b, byte(word>>(8*i)))
	}
	return b
}

// zigzag folds negative numbers between the positive ones, so that small ones are short.
func zigzag(v int64) uint64   { return uint64(v)<<1 ^ uint64(v>>63) }
func unzigzag(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }

// parser takes what was appended off a payload again. After the first fault it only gives zeros.
type parser struct {
	b      []byte
	failed bool
}

func (p *parser) byte() byte {
	if len(p.b) == 0 {
		p.failed = true
		return 0
	}
	v := p.b[0]
	p.b = p.b[1:]
	return v
}

func (p *parser) word() uint64 {
	head := p.byte()
	behind, n := int(head>>4), int(head&15)
	if behind+n > 8 || n > len(p.b) || (n == 0) != (head == 0) {
		p.failed = true
		return 0
	}
	word := uint64(0)
	for _, v := range p.b[:n] {
		word = word<<8 | uint64(v)
	}
	p.b = p.b[n:]
	return word << (8 * behind)
}

func (p *parser) uvarint() uint64 {
	v, n := binary.Uvarint(p.b)
	if n <= 0 {
		p.failed, p.b = true, nil
		return 0
	}
	p.b = p.b[n:]
	return v
}

func (p *parser) varint() int64 { return unzigzag(p.uvarint()) }

// count takes a number of things that each take a byte or more.
func (p *parser) count(most int) int {
	n := p.uvarint()
	if n > uint64(most) || n > uint64(len(p.b)) {
		p.failed = true
		return 0
	}
	return int(n)
}

// end reports whether all was well and nothing is left.
func (p *parser) end() error {
	if p.failed || len(p.b) > 0 {
		return errDamaged
	}
	return nil
}

// Values that only people and charts look at are kept to a thousandth: of a degree, of a share.
const quantum = 1e-3

// quantise returns v in quanta; what is no number is 0.
func quantise(v, quantum float64) int64 {
	q := math.Round(v / quantum)
	if math.IsNaN(q) {
		return 0
	}
	const most = 1 << 52 // exact as a float, and far from overflow
	return int64(min(max(q, -most), most))
}

func appendVarint(b []byte, v int64) []byte { return binary.AppendUvarint(b, zigzag(v)) }
