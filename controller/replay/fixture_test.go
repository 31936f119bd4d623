package replay_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

const testdata = "../../testdata"

// Places of the probes of testdata/winter/tunnel.toml in a moment.
const (
	airCell = iota
	humidityCell
	deepCell
	shallowCell
	cells
)

// cell is a value of a recording, or none.
type cell struct {
	v  float64
	ok bool
}

// moment is what a tunnel's recording and the soil's hold at one instant, read by this test
// itself: humidity is a share, the rest °C.
type moment struct {
	at    time.Time
	cells [cells]cell
}

// tunnel is one of the measured tunnels.
type tunnel struct {
	name, file string
	moments    []moment
	end        time.Time // its last row
}

func rome(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Rome")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// tunnels reads the tunnels and joins each with the soil between its pipes.
func tunnels(t testing.TB) []tunnel {
	t.Helper()
	all := []tunnel{
		{name: "tunnel 1", file: "tunnel_veneto_1_2021-06_2022-02.csv"},
		{name: "tunnel 2", file: "tunnel_veneto_2_2021-06_2022-08.csv"},
	}
	for i := range all {
		u := &all[i]
		at := map[int64]*moment{}
		put := func(when time.Time, place int, text string, scale float64) {
			if text == "" || strings.EqualFold(text, "nan") {
				return
			}
			v, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			at[when.Unix()].cells[place] = cell{v / scale, true}
		}
		for _, row := range table(t, "greenhouse", "veneto", u.file) {
			when := local(t, row[0])
			at[when.Unix()] = &moment{at: when}
			put(when, airCell, row[1], 1)
			put(when, humidityCell, row[2], 100)
			put(when, shallowCell, row[3], 1)
			u.end = when
		}
		for _, row := range table(t, "winter", "soil_50cm.csv") {
			when := local(t, row[0])
			if at[when.Unix()] == nil {
				at[when.Unix()] = &moment{at: when}
			}
			put(when, deepCell, row[1], 1)
		}
		for _, m := range at {
			if !m.at.After(u.end) {
				u.moments = append(u.moments, *m)
			}
		}
		sort.Slice(u.moments, func(a, b int) bool { return u.moments[a].at.Before(u.moments[b].at) })
	}
	return all
}

// table returns the rows of a CSV under its header.
func table(t testing.TB, path ...string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(append([]string{testdata}, path...)...))
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

// local reads a civil time of Rome. The recordings hold the repeated hour once: its first pass.
func local(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02T15:04:05", text, rome(t))
	if err != nil {
		t.Fatal(err)
	}
	if before := at.Add(-time.Hour); before.Format("15:04:05") == at.Format("15:04:05") {
		return before
	}
	return at
}

// winter is a replay of a tunnel with everything that it reported.
type winter struct {
	sum     *replay.Summary
	s       *decide.Settings
	changes []change
}

// change is what a replay reported of one.
type change struct {
	at time.Time
	d  decide.StoreDecision
}

// farm loads testdata/winter/tunnel.toml.
func farm(t testing.TB) *config.Settings {
	t.Helper()
	s, err := config.Load(filepath.Join(testdata, "winter", "tunnel.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// replayed runs a tunnel through the farm, from its first row to its last.
func replayed(t testing.TB, u *tunnel) winter {
	t.Helper()
	open := func(name, timeColumn string) *recording.Reader {
		f, err := os.Open(filepath.Join(testdata, name))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { f.Close() })
		r, err := recording.NewReader(f, recording.Options{Name: name, Zone: rome(t), TimeColumn: timeColumn})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	rows := recording.Merge(open("greenhouse/veneto/"+u.file, "time_local"), open("winter/soil_50cm.csv", "time"))
	return run(t, rows, replay.Options{Until: u.end.Add(time.Second)})
}

// run runs rows through the farm.
func run(t testing.TB, rows replay.Rows, o replay.Options) winter {
	t.Helper()
	s := farm(t)
	w := winter{s: &s.Houses[0].House.Decide}
	o.OnChange = func(c replay.Change) { w.changes = append(w.changes, change{c.Time, *c.Decision()}) }
	var err error
	if w.sum, err = replay.Run(s, rows, o); err != nil {
		t.Fatal(err)
	}
	return w
}
