package history

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"sync"
)

// A sealed blob is the checksum of what follows, a byte that says whether it is deflated, and the
// payload.
const (
	plain    = 0
	deflated = 1

	sealBytes = 5
	maxBlob   = 8 << 20 // a thousand times the usual one: bounds what a forged blob inflates to
)

// errDamaged says that a row is not what was written.
var errDamaged = errors.New("row is damaged; its checksum or form does not hold")

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// deflaters are kept between the blocks of a batch: each takes most of a megabyte, and goes with the
// garbage once none is needed.
var deflaters = sync.Pool{New: func() any {
	w, err := flate.NewWriter(nil, flate.BestCompression)
	if err != nil {
		panic(err) // the level is no longer one of the package's
	}
	return w
}}

// seal returns payload as it is stored: deflated where that is shorter.
func seal(payload []byte) ([]byte, error) {
	out := bytes.NewBuffer(make([]byte, sealBytes, sealBytes+len(payload)/2))
	w := deflaters.Get().(*flate.Writer)
	defer deflaters.Put(w)
	w.Reset(out)
	if _, err := w.Write(payload); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	if out.Len() < sealBytes+len(payload) {
		return sum(out.Bytes(), deflated), nil
	}
	return sealPlain(payload), nil
}

// sealPlain returns payload as it is stored when it is too short to gain by deflating.
func sealPlain(payload []byte) []byte {
	return sum(append(make([]byte, sealBytes, sealBytes+len(payload)), payload...), plain)
}

func sum(blob []byte, form byte) []byte {
	blob[4] = form
	binary.LittleEndian.PutUint32(blob, crc32.Checksum(blob[4:], castagnoli))
	return blob
}

// unseal returns the payload of a stored blob.
func unseal(blob []byte) ([]byte, error) {
	if len(blob) < sealBytes || binary.LittleEndian.Uint32(blob) != crc32.Checksum(blob[4:], castagnoli) {
		return nil, errDamaged
	}
	switch blob[4] {
	case plain:
		return blob[sealBytes:], nil
	case deflated:
		payload, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(blob[sealBytes:])), maxBlob+1))
		if err != nil || len(payload) > maxBlob {
			return nil, fmt.Errorf("%w: %d bytes inflated: %w", errDamaged, len(payload), err)
		}
		return payload, nil
	}
	return nil, errDamaged
}
