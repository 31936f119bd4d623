package recording

import (
	"os"
	"testing"
	"time"
)

const veneto = "../../testdata/greenhouse/veneto/"

// TestVeneto reads the two plastic tunnels of Brentarolli and others, Microclimatic Data for two
// Tunnel Greenhouses in northern-east Italy (GPL-3.0). Rows, gaps and valid cells of tunnel 2 are
// those published beside the data; those of tunnel 1 were counted with Python's csv module.
func TestVeneto(t *testing.T) {
	tests := []struct {
		file        string
		rows        int64
		missing     int64
		overHours   [3]int // gaps over 1, 3, 48 h of written local time
		first, last string
		meanAir     float64
		maxAir      float64
	}{
		{
			"tunnel_veneto_1_2021-06_2022-02.csv", 14455, 25 + 25 + 648 + 855,
			[3]int{44, 33, 3},
			"2021-06-22T11:15:00+02:00", "2022-02-28T15:45:00+01:00", 0, 38.9,
		},
		{
			"tunnel_veneto_2_2021-06_2022-08.csv", 14913, 13 + 13 + 112 + 112,
			[3]int{165, 58, 7},
			"2021-06-22T15:56:56+02:00", "2022-08-31T00:10:07+02:00", 20.350, 45.3,
		},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			f, err := os.Open(veneto + tt.file)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			r, err := NewReader(f, Options{Name: tt.file, Zone: place(t, "Europe/Rome"), TimeColumn: "time_local"})
			if err != nil {
				t.Fatal(err)
			}
			rows, err := all(r)
			if err != nil {
				t.Fatal(err)
			}
			want := Stats{Rows: tt.rows, Missing: tt.missing}
			if got := r.Stats(); got != want || int64(len(rows)) != tt.rows {
				t.Errorf("stats %+v of %d rows; want %+v", got, len(rows), want)
			}
			if got := rows[0].Time.Format(time.RFC3339); got != tt.first {
				t.Errorf("first %s; want %s", got, tt.first)
			}
			if got := rows[len(rows)-1].Time.Format(time.RFC3339); got != tt.last {
				t.Errorf("last %s; want %s", got, tt.last)
			}
			if got := gaps(rows); got != tt.overHours {
				t.Errorf("gaps over 1, 3, 48 h: %v; want %v", got, tt.overHours)
			}
			mean, most := air(rows)
			if most != tt.maxAir {
				t.Errorf("warmest air %v; want %v", most, tt.maxAir)
			}
			if d := mean - tt.meanAir; tt.meanAir != 0 && (d > 0.002 || d < -0.002) { // its stated tolerance
				t.Errorf("mean air %v; want %v", mean, tt.meanAir)
			}
		})
	}
}

func gaps(rows []Row) (over [3]int) {
	naive := func(t time.Time) time.Time {
		_, off := t.Zone()
		return t.Add(time.Duration(off) * time.Second)
	}
	for i := 1; i < len(rows); i++ {
		step := naive(rows[i].Time).Sub(naive(rows[i-1].Time))
		for j, h := range []time.Duration{1, 3, 48} {
			if step > h*time.Hour {
				over[j]++
			}
		}
	}
	return over
}

func air(rows []Row) (mean, most float64) {
	n := 0
	for _, r := range rows {
		if r.OK[0] {
			mean += r.Values[0]
			most = max(most, r.Values[0])
			n++
		}
	}
	return mean / float64(n), most
}
