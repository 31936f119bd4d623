package ledger_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loambank/controller/ledger"
)

// three is a farm of three houses of two stores that has run for years: its numbers are long. The
// state is as long as that of a house with twelve probes.
func three() ledger.Checkpoint {
	c := stand(0)
	c.Houses = nil
	state, _ := json.Marshal(strings.Repeat("x", 4000))
	for _, name := range []string{"lower", "upper", "road"} {
		h := ledger.New(name, two())
		for n := range 1000 {
			for i := range 2 {
				d := does(i, 7, 1, 1)
				d.Stores[i].HeatW, d.Stores[i].LatentW = 3000+0.1*float64(n), 1000/3.0
				h.Add(two(), unseen, d, 10.1)
			}
		}
		c.Houses = append(c.Houses, ledger.Entry{Account: *h, State: state})
	}
	return c
}

// BenchmarkSave reports what is written besides the time, which is the disk's.
func BenchmarkSave(b *testing.B) {
	dir := b.TempDir()
	f, _, _ := open(b, dir)
	c := three()
	for b.Loop() {
		save(b, f, c)
	}
	info, err := os.Stat(filepath.Join(dir, "ledger"))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(info.Size()), "B/checkpoint")
}

func BenchmarkLoad(b *testing.B) {
	dir := b.TempDir()
	f, _, _ := open(b, dir)
	save(b, f, three())
	for b.Loop() {
		if _, _, err := ledger.Load(dir); err != nil {
			b.Fatal(err)
		}
	}
}
