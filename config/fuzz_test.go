package config

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// Whatever the file, Parse gives whole settings or faults with their lines.
func FuzzParse(f *testing.F) {
	files, _ := filepath.Glob(filepath.Join(testdata, "bad", "*.toml"))
	files = append(files, filepath.Join(testdata, "example.toml"))
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte(minimal))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Parse("farm.toml", data, nil)
		if err == nil {
			if len(s.Houses) == 0 || s.TickS < 1 || s.Hash == "" {
				t.Errorf("settings are not whole: %+v", s)
			}
			return
		}
		faults, ok := errors.AsType[Faults](err)
		if !ok || s != nil || len(faults) == 0 {
			t.Fatalf("%T with %v", err, s)
		}
		for _, fault := range faults {
			if fault.Line < 1 || fault.What == "" || fault.Remedy == "" {
				t.Errorf("incomplete fault %+v", fault)
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	data, err := os.ReadFile(filepath.Join(testdata, "example.toml"))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Parse("farm.toml", data, nil); err != nil {
			b.Fatal(err)
		}
	}
}
