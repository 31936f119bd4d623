package config

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "rewrite the golden files")

const testdata = "../testdata/config"

// golden compares got with a file, or rewrites it.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("differs from %s (-want +got):\n%s", path, diff)
	}
}

// Every bad file says exactly what stands beside it.
func TestBadFiles(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(testdata, "bad", "*.toml"))
	if err != nil || len(files) < 70 {
		t.Fatalf("%d bad files, %v", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".toml"), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			s, err := Parse("farm.toml", data, nil)
			if err == nil || s != nil {
				t.Fatalf("accepted: %v", s)
			}
			faults, ok := errors.AsType[Faults](err)
			if !ok {
				t.Fatalf("%T is not Faults: %v", err, err)
			}
			for _, f := range faults {
				if f.Line < 1 || f.What == "" || f.Remedy == "" {
					t.Errorf("incomplete: %+v", f)
				}
			}
			golden(t, strings.TrimSuffix(file, ".toml")+".want", err.Error()+"\n")
		})
	}
}
