package ledger

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
)

// schema is that of the files this program writes and reads. The header keeps its form in every
// schema, so that a foreign file is told from a torn one.
const schema = 1

// ErrSchema says that a sound ledger file was written in a schema that this program does not
// read, such as by a newer one.
var ErrSchema = errors.New("not the ledger schema of this program")

// maxBytes bounds what is read of a ledger file: a thousand times its usual size.
const maxBytes = 16 << 20

// seal puts the header line before a payload: schema, length, and the checksum over both and the
// payload.
func seal(schema int, payload []byte) []byte {
	front := fmt.Appendf(nil, "loambank-ledger schema=%d length=%d", schema, len(payload))
	sum := sha256.New()
	sum.Write(front)
	sum.Write(payload)
	return append(fmt.Appendf(front, " sha256=%x\n", sum.Sum(nil)), payload...)
}

// unseal returns the payload of a whole file of this program's schema.
func unseal(data []byte) ([]byte, error) {
	line, payload, ended := bytes.Cut(data, []byte("\n"))
	var found, length int
	_, err := fmt.Sscanf(string(line), "loambank-ledger schema=%d length=%d sha256=", &found, &length)
	switch {
	case len(data) == 0:
		return nil, errors.New("empty; a ledger begins with its header")
	case err != nil || !ended:
		return nil, errors.New("no ledger header; a ledger begins with one")
	case len(payload) != length:
		return nil, fmt.Errorf("%d bytes long after its header; it should be %d", len(payload), length)
	case !bytes.Equal(data, seal(found, payload)):
		return nil, errors.New("checksum does not match: the file was damaged or edited")
	case found != schema:
		return nil, fmt.Errorf("%w: it is schema %d, this program reads %d; run the program that wrote it to go on from it",
			ErrSchema, found, schema)
	}
	return payload, nil
}

// encode returns the file of a checkpoint.
func encode(c *Checkpoint) ([]byte, error) {
	payload, err := json.Marshal(c)
	if err != nil {
		return nil, fmt.Errorf("checkpoint: %w", err)
	}
	return seal(schema, append(payload, '\n')), nil
}

// decode reads the file of a checkpoint.
func decode(data []byte) (*Checkpoint, error) {
	payload, err := unseal(data)
	if err != nil {
		return nil, err
	}
	c := new(Checkpoint)
	if err := json.Unmarshal(payload, c); err != nil {
		return nil, fmt.Errorf("checkpoint: %w", err)
	}
	return c, nil
}
