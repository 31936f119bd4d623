package weather_test

import (
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loambank/controller/weather"
)

const (
	golden     = "USA_CO_Golden-NREL.724666_TMY3.epw"
	burlington = "USA_VT_Burlington.Intl.AP.726170_TMY3.epw"
	satellite  = "tmy_45.000_8.000_2005_2023.epw"
	greensboro = "723170TYA.CSV"
)

const folder = "../../testdata/weather/"

// packed returns a file as it lies there.
func packed(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(folder + name + ".gz")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// plain returns a file's text.
func plain(t testing.TB, name string) string {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(packed(t, name)))
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func read(t testing.TB, name string) *weather.Year {
	t.Helper()
	y, err := weather.Read(name, bytes.NewReader(packed(t, name)))
	if err != nil {
		t.Fatal(err)
	}
	return y
}

func parse(text string) (*weather.Year, error) {
	return weather.Read("year", strings.NewReader(text))
}

// table reads a CSV without its header.
func table(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("../../testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

// says checks that err is a fault at line whose text holds each of some words.
func says(t *testing.T, err error, line int, some ...string) {
	t.Helper()
	var f *weather.Fault
	if !errors.As(err, &f) {
		t.Fatalf("the error is %v, want a fault that says %q", err, some)
	}
	if f.Line != line {
		t.Errorf("%v: want line %d", err, line)
	}
	if f.What == "" || f.Remedy == "" {
		t.Errorf("%v: want both fault and remedy", err)
	}
	for _, w := range some {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%v: want it to say %q", err, w)
		}
	}
}
