package history

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"time"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// entry is one tick of the journal.
type entry struct {
	ns     int64 // wall time, Unix ns
	seen   house.Seen
	digest uint64
	gap    bool // ticks before it are missing
}

// Digest is a fingerprint of a decision to its last bit: FNV-1a, 64 bits, over its fields in their
// order, little endian. Two decisions of one program with the same digest are the same.
func Digest(d *decide.Decision) uint64 {
	h := fnv.New64a()
	if err := binary.Write(h, binary.LittleEndian, d); err != nil {
		panic("history: a decision has a field without a fixed size: " + err.Error())
	}
	return h.Sum64()
}

// The columns of a block, each through all its ticks; those of the readings come last. A column is
// kept as what differs from the tick before: most do not change, and then take next to nothing.
const (
	nsColumn     = iota // difference of differences
	stepColumn          // against the wall time that passed
	flagColumn          // see flags
	rawsColumn          // number of readings
	okColumn            // a bit a reading
	grantColumn         // Grant.PowerW
	downColumn          // a bit a fan
	digestColumn        //
	orderColumn         // kind, stage and fan, a column a store
	forColumn    = orderColumn + decide.MaxStores
	rawColumn    = forColumn + decide.MaxStores
)

const (
	believedFlag = 1 << iota
	clearFlag
	gapFlag
	limitedFlag
	closedFlag
)

const (
	blockForm  = 2   // the first did not say what the block follows
	maxEntries = 256 // in one block; as many as 42 minutes of the usual ticks
)

// encodeBlock returns the payload of a block of ticks. after is the number of the house's block or mark
// before it; 0 is not known.
func encodeBlock(after int64, entries []entry) []byte {
	raws := 0
	for i := range entries {
		raws = max(raws, min(len(entries[i].seen.Raw), house.MaxProbes))
	}
	rows := make([][]uint64, len(entries))
	for i := range entries {
		rows[i] = entries[i].columns(raws)
	}
	b := appendVarint([]byte{blockForm}, after)
	b = binary.AppendUvarint(b, uint64(len(entries)))
	b = binary.AppendUvarint(b, uint64(raws))
	for c := range rawColumn + raws {
		for i := range rows {
			b = appendWord(b, differ(rows[i][c], expected(rows, i, c), c))
		}
	}
	return b
}

// decodeBlock returns the ticks of a payload, and what it follows.
func decodeBlock(payload []byte) (after int64, entries []entry, err error) {
	p := parser{b: payload}
	switch p.byte() {
	case 1:
	case blockForm:
		after = p.varint()
	default:
		return 0, nil, errDamaged
	}
	n, raws := p.count(maxEntries), p.count(house.MaxProbes)
	rows := make([][]uint64, n)
	for i := range rows {
		rows[i] = make([]uint64, rawColumn+raws)
	}
	for c := range rawColumn + raws {
		for i := range rows {
			rows[i][c] = undiffer(p.word(), expected(rows, i, c), c)
		}
	}
	if err := p.end(); err != nil {
		return 0, nil, err
	}
	entries = make([]entry, n)
	for i, row := range rows {
		if row[rawsColumn] > uint64(raws) {
			return 0, nil, errDamaged
		}
		entries[i] = fromColumns(row)
	}
	return after, entries, nil
}

// expected is what stands in column c of row i if nothing unexpected happened since the row before.
func expected(rows [][]uint64, i, c int) uint64 {
	switch {
	case i == 0 || c == digestColumn:
		return 0
	case c == nsColumn && i > 1:
		return 2*rows[i-1][c] - rows[i-2][c]
	case c == stepColumn:
		return math.Float64bits(time.Duration(rows[i][nsColumn] - rows[i-1][nsColumn]).Seconds())
	}
	return rows[i-1][c]
}

func differ(word, expected uint64, c int) uint64 {
	if c == nsColumn {
		return zigzag(int64(word - expected))
	}
	return word ^ expected
}

func undiffer(word, expected uint64, c int) uint64 {
	if c == nsColumn {
		return uint64(unzigzag(word)) + expected
	}
	return word ^ expected
}

// columns returns the tick as one word a column.
func (e *entry) columns(raws int) []uint64 {
	seen := &e.seen
	row := make([]uint64, rawColumn+raws)
	row[nsColumn] = uint64(e.ns)
	row[stepColumn] = math.Float64bits(seen.StepS)
	for _, f := range [...]struct {
		flag uint64
		set  bool
	}{
		{believedFlag, seen.Believed},
		{clearFlag, seen.ClearFault},
		{gapFlag, e.gap},
		{limitedFlag, seen.Grant.Limited},
		{closedFlag, seen.Grant.Closed},
	} {
		if f.set {
			row[flagColumn] |= f.flag
		}
	}
	row[rawsColumn] = uint64(min(len(seen.Raw), raws))
	for i, r := range seen.Raw[:row[rawsColumn]] {
		row[rawColumn+i] = math.Float64bits(r.Value)
		if r.OK {
			row[okColumn] |= 1 << i
		}
	}
	row[grantColumn] = math.Float64bits(seen.Grant.PowerW)
	for i := range decide.MaxStores {
		for j, down := range seen.Down[i] {
			if down {
				row[downColumn] |= 1 << (i*decide.MaxFans + j)
			}
		}
		order := seen.Orders[i]
		row[orderColumn+i] = uint64(order.Kind) | uint64(order.Stage)<<8 | uint64(order.Fan)<<16
		row[forColumn+i] = math.Float64bits(order.ForS)
	}
	row[digestColumn] = e.digest
	return row
}

// fromColumns is the tick of a row.
func fromColumns(row []uint64) entry {
	flags := row[flagColumn]
	e := entry{ns: int64(row[nsColumn]), digest: row[digestColumn], gap: flags&gapFlag != 0}
	seen := &e.seen
	seen.StepS = math.Float64frombits(row[stepColumn])
	seen.Believed, seen.ClearFault = flags&believedFlag != 0, flags&clearFlag != 0
	seen.Grant.Limited, seen.Grant.Closed = flags&limitedFlag != 0, flags&closedFlag != 0
	seen.Grant.PowerW = math.Float64frombits(row[grantColumn])
	if n := row[rawsColumn]; n > 0 {
		seen.Raw = make([]judge.Raw, n)
	}
	for i := range seen.Raw {
		seen.Raw[i] = judge.Raw{Value: math.Float64frombits(row[rawColumn+i]), OK: row[okColumn]>>i&1 != 0}
	}
	for i := range decide.MaxStores {
		for j := range decide.MaxFans {
			seen.Down[i][j] = row[downColumn]>>(i*decide.MaxFans+j)&1 != 0
		}
		order := row[orderColumn+i]
		seen.Orders[i] = decide.Order{
			Kind: decide.OrderKind(order), Stage: uint8(order >> 8), Fan: uint8(order >> 16),
			ForS: math.Float64frombits(row[forColumn+i]),
		}
	}
	return e
}
