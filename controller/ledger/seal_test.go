package ledger

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"
)

func TestUnseal(t *testing.T) {
	// The checksum is that of coreutils: printf 'loambank-ledger schema=1 length=3{}\n' | sha256sum
	const sound = "loambank-ledger schema=1 length=3 sha256=SUM\n{}\n"
	const sum = "7d400bf3846928a3a887b49ac74a554b3ab34dabfc0077d3604a0bb9f79a335d"
	tests := []struct {
		name, data, want string
	}{
		{"a sound file", sound, ""},
		{"an empty file", "", "empty; a ledger begins with its header"},
		{"zeros, as a power cut leaves them", strings.Repeat("\x00", 300), "no ledger header; a ledger begins with one"},
		{"another file", "[Unit]\nDescription=x\n", "no ledger header; a ledger begins with one"},
		{"a header that does not end", strings.TrimSuffix(sound, "\n{}\n"), "no ledger header; a ledger begins with one"},
		{"nothing after the header", strings.TrimSuffix(sound, "{}\n"), "0 bytes long after its header; it should be 3"},
		{"a byte short", strings.TrimSuffix(sound, "\n"), "2 bytes long after its header; it should be 3"},
		{"a byte over", sound + "\n", "4 bytes long after its header; it should be 3"},
		{"another byte", strings.Replace(sound, "{}", "{]", 1), "checksum does not match: the file was damaged or edited"},
		{"another checksum", strings.Replace(sound, "SUM", strings.Repeat("0", 64), 1), "checksum does not match: the file was damaged or edited"},
		{"a checksum in capitals", strings.Replace(sound, "SUM", strings.ToUpper(sum), 1), "checksum does not match: the file was damaged or edited"},
		{"a length written otherwise", strings.Replace(sound, "=3", "=03", 1), "checksum does not match: the file was damaged or edited"},
		{"another schema number in the same file", strings.Replace(sound, "schema=1", "schema=2", 1), "checksum does not match: the file was damaged or edited"},
		{
			"a sound file of a newer schema", string(seal(2, []byte("{}\n"))),
			"not the ledger schema of this program: it is schema 2, this program reads 1; run the program that wrote it to go on from it",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			payload, err := unseal([]byte(strings.Replace(tt.data, "SUM", sum, 1)))
			if tt.want == "" {
				if err != nil || string(payload) != "{}\n" {
					t.Errorf("got %q, %v", payload, err)
				}
				return
			}
			if err == nil || err.Error() != tt.want {
				t.Errorf("got %v, want %s", err, tt.want)
			}
			if newer := strings.Contains(tt.name, "newer"); errors.Is(err, ErrSchema) != newer {
				t.Errorf("it is ErrSchema: %v, want %v", !newer, newer)
			}
		})
	}
}

// FuzzDecode feeds files as they are, and payloads under a sound header. What is taken for good
// must come back the same from a file of its own.
func FuzzDecode(f *testing.F) {
	c := Checkpoint{Unix: 5, Believed: true, Houses: []Entry{{
		Account: House{Name: "lower", Stores: []Store{{Name: "beds", Fans: []Fan{{Name: "east", Starts: 2}}}}},
		State:   []byte(`{"Smoke":true}`),
	}}}
	whole, err := encode(&c)
	if err != nil {
		f.Fatal(err)
	}
	_, payload, _ := bytes.Cut(whole, []byte("\n"))
	for _, data := range [][]byte{whole, payload, whole[:40], nil, []byte("null"), []byte(`{"Houses":[{"State":null}]}`), []byte(`{"Houses":[{"State":[1e999]}]}`)} {
		f.Add(data, false)
		f.Add(data, true)
	}
	f.Fuzz(func(t *testing.T, data []byte, sealed bool) {
		if sealed {
			data = seal(schema, data)
		}
		c, err := decode(data)
		if err != nil {
			return
		}
		again, err := encode(c)
		if err != nil {
			t.Fatalf("what was read cannot be written: %v", err)
		}
		back, err := decode(again)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v", err)
		}
		third, err := encode(back)
		if err != nil || !bytes.Equal(again, third) {
			t.Fatalf("%+v came back as %+v, %v", c, back, err)
		}
		if !reflect.DeepEqual(c.with(back), *c) {
			t.Fatalf("a checkpoint lacks houses of itself: %+v", c)
		}
	})
}
