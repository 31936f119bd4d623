package judge

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
	"time"
)

// record is one column of a recording: when, what, and whether there was anything.
type record struct {
	at  time.Time
	raw Raw
}

// readColumn reads a column of a CSV; scale turns its unit into the role's.
func readColumn(t *testing.T, path, layout, timeName, name string, scale float64) (rows []record) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	timeAt, valueAt := -1, -1
	for i, title := range lines[0] {
		switch title {
		case timeName:
			timeAt = i
		case name:
			valueAt = i
		}
	}
	for _, l := range lines[1:] {
		at, err := time.Parse(layout, l[timeAt])
		if err != nil {
			t.Fatal(err)
		}
		r := record{at: at}
		if v, err := strconv.ParseFloat(l[valueAt], 64); err == nil && !math.IsNaN(v) && v > -99 {
			r.raw = Raw{Value: v * scale, OK: true}
		}
		rows = append(rows, r)
	}
	return rows
}

// tally counts what the judge said of the rows that held a reading.
type tally struct {
	read, good int
	worse      [Odd + 1]int // by cause
	bad        int
}

func judgeAll(s Settings, rows []record) (n tally) {
	var st State
	for i, r := range rows {
		stepS := 0.0
		if i > 0 {
			stepS = r.at.Sub(rows[i-1].at).Seconds()
		}
		v := Probe(&s, &st, r.raw, stepS)
		if !r.raw.OK {
			continue
		}
		n.read++
		switch v.Quality {
		case Good:
			n.good++
		case Bad:
			n.bad++
			fallthrough
		default:
			n.worse[v.Cause]++
		}
	}
	return n
}

// Every air and humidity reading of two plastic tunnels in a plain's winter, and of their crop
// substrate, which is shallower than any soil probe of ours and lies in the sun.
func TestTwoRecordedTunnels(t *testing.T) {
	for _, file := range []struct {
		name    string
		atLeast int
	}{{"tunnel_veneto_1_2021-06_2022-02.csv", 13000}, {"tunnel_veneto_2_2021-06_2022-08.csv", 14000}} {
		for _, c := range []struct {
			column      string
			role        Role
			place       Place
			scale       float64
			mostDoubted float64 // share of the readings
		}{
			{"air_degC", Air, Crop, 1, 0.01},
			{"soil_degC", Soil, Root, 1, 0.01},
			{"rh_percent", Humidity, Crop, 0.01, 0.01}, // without the pinned
		} {
			t.Run(file.name+" "+c.column, func(t *testing.T) {
				rows := readColumn(t, "../../testdata/greenhouse/veneto/"+file.name,
					"2006-01-02T15:04:05", "time_local", c.column, c.scale)
				s := Defaults(c.role, c.place, 0)
				s.StaleS = 65 * 60
				n := judgeAll(s, rows)
				t.Logf("%d read, %d good, worse by cause %v", n.read, n.good, n.worse)
				if n.read < file.atLeast {
					t.Errorf("%d readings, want at least %d", n.read, file.atLeast)
				}
				if n.bad > 0 {
					t.Errorf("%d readings are judged bad", n.bad)
				}
				doubted := n.read - n.good - n.worse[Pinned]
				if float64(doubted) > c.mostDoubted*float64(n.read) {
					t.Errorf("%d of %d readings are doubted", doubted, n.read)
				}
			})
		}
	}
}

// Ten years of daily soil temperatures of a climate station, 50 and 100 cm deep.
func TestRecordedDeepSoilIsAllGood(t *testing.T) {
	for column, depthM := range map[string]float64{"SOIL_TEMP_50_DAILY": 0.5, "SOIL_TEMP_100_DAILY": 1} {
		rows := readColumn(t, "../../testdata/soil/USCRN_IN_Bedford_5_WNW_daily.csv",
			"20060102", "LST_DATE", column, 1)
		s := Defaults(Soil, Undisturbed, depthM)
		s.StaleS = 36 * 3600 // single days are missing
		n := judgeAll(s, rows)
		if n.read < 2900 || n.good != n.read {
			t.Errorf("%s: %d read, %d good, worse by cause %v", column, n.read, n.good, n.worse)
		}
	}
}
