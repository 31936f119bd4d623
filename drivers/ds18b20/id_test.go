package ds18b20

import (
	"bytes"
	"strings"
	"testing"

	"periph.io/x/conn/v3/onewire"
	"pgregory.net/rapid"
)

func TestParseID(t *testing.T) {
	tests := []struct {
		name, id string
		want     onewire.Address
		wire     []byte // as sent
	}{
		{
			"the address of the package onewire's own documentation", "28-000001318252", 0x7a00000131825228,
			[]byte{0x28, 0x52, 0x82, 0x31, 0x01, 0x00, 0x00, 0x7a},
		},
		// Application note 27, the checksum's worked example; from memory, its checksum agrees.
		{
			"the worked example of the checksum", "02-00000001b81c", 0xa2000000_01b81c02,
			[]byte{0x02, 0x1c, 0xb8, 0x01, 0x00, 0x00, 0x00, 0xa2},
		},
		{"capital letters", "02-00000001B81C", 0xa2000000_01b81c02, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseID(tt.id)
			if err != nil || got != tt.want {
				t.Fatalf("got %016x, %v; want %016x", uint64(got), err, uint64(tt.want))
			}
			if tt.wire != nil && !bytes.Equal(wire(uint64(got)), tt.wire) {
				t.Errorf("sent as % x; want % x", wire(uint64(got)), tt.wire)
			}
			if back := FormatID(got); back != strings.ToLower(tt.id) {
				t.Errorf("written back as %s; want %s", back, tt.id)
			}
		})
	}
}

func TestParseIDRefuses(t *testing.T) {
	for _, id := range []string{
		"", "28", "28-", "28-75a1c01", "28-0000075a1c01a", "28.0000075a1c01",
		"28-0000075a1c0g", "28_0000075a1c01", " 28-0000075a1c01", "28-0000075a1c01\n", "-28000075a1c01", "28-+000075a1c01",
	} {
		a, err := ParseID(id)
		if err == nil || !strings.Contains(err.Error(), "is written like 28-0000075a1c01") {
			t.Errorf("%q gives %016x, %v; want an error that shows the form", id, uint64(a), err)
		}
	}
	if _, err := ParseID(strings.Repeat("x", 1<<20)); len(err.Error()) > 200 {
		t.Errorf("the error is %d bytes long", len(err.Error()))
	}
}

func TestEveryAddressHasOneID(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.StringMatching(`[0-9a-f]{2}-[0-9a-f]{12}`).Draw(t, "id")
		a, err := ParseID(id)
		if err != nil || FormatID(a) != id || !onewire.CheckCRC(wire(uint64(a))) {
			t.Fatalf("%s gives %016x, %v and back %s", id, uint64(a), err, FormatID(a))
		}
	})
}
