package controller_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/export"
	"loambank/controller/ledger"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

// columns of the week, in the order of the probes of testdata/winter/tunnel.toml.
var columns = []string{"tunnel/air_degC", "tunnel/humidity_ratio", "tunnel/beds/deep_degC", "tunnel/beds/shallow_degC"}

// week is a cold week of the measured tunnel (testdata/greenhouse/veneto, tunnel 1), every 15
// minutes, with the soil record of testdata/winter held through each day.
func week(t *testing.T) (times []time.Time, rows [][]float64) {
	t.Helper()
	rome, err := time.LoadLocation("Europe/Rome")
	if err != nil {
		t.Fatal(err)
	}
	open := func(name, timeColumn string) *recording.Reader {
		f, err := os.Open(filepath.Join("..", "testdata", name))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { f.Close() })
		r, err := recording.NewReader(f, recording.Options{Name: name, Zone: rome, TimeColumn: timeColumn})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	merged := recording.Merge(
		open("greenhouse/veneto/tunnel_veneto_1_2021-06_2022-02.csv", "time_local"),
		open("winter/soil_50cm.csv", "time"))
	at := map[string]int{}
	for i, c := range merged.Columns() {
		at[c.Header] = i
	}
	from := time.Date(2022, time.February, 7, 10, 30, 0, 0, rome)
	until := from.AddDate(0, 0, 7)
	soil := 0.0
	for row := (recording.Row{}); ; {
		err := merged.Next(&row)
		if errors.Is(err, io.EOF) {
			return times, rows
		}
		if err != nil {
			t.Fatal(err)
		}
		if k := at["soil_50cm_degC"]; row.OK[k] {
			soil = row.Values[k]
		}
		if air := at["air_degC"]; row.OK[air] && !row.Time.Before(from) && row.Time.Before(until) {
			times = append(times, row.Time)
			rows = append(rows, []float64{row.Values[air], row.Values[at["rh_percent"]], soil, row.Values[at["soil_degC"]]})
		}
	}
}

// TestDaemonFollowsReplay feeds a cold week of the measured tunnel into probe files under a clock
// 60 times as fast, and wants the fan file and the account to follow a replay of that week exactly.
func TestDaemonFollowsReplay(t *testing.T) {
	times, rows := week(t)
	if len(times) != 7*24*4 {
		t.Fatalf("the week has %d rows, want one each 15 minutes", len(times))
	}
	path, err := filepath.Abs("../testdata/winter/tunnel.toml")
	if err != nil {
		t.Fatal(err)
	}
	settings, err := config.Load(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	wantOn, want := replayed(t, settings, times, rows)

	dir := t.TempDir()
	t.Chdir(dir)
	for _, d := range []string{"probes", "fans"} {
		if err := os.Mkdir(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	var gotOn []bool
	var account *ledger.House
	var metrics string
	synctest.Test(t, func(t *testing.T) { gotOn, account, metrics = ran(t, settings, times, rows) })

	if diff := cmp.Diff(wantOn, gotOn); diff != "" {
		t.Errorf("fan file by tick (-replay +daemon):\n%s", diff)
	}
	account.Probes, account.Saved = nil, ledger.Savings{} // a replay misses no reading and learns nothing
	if diff := cmp.Diff(want, account); diff != "" {
		t.Errorf("account (-replay +daemon):\n%s", diff)
	}
	fan := want.Stores[0].Fans[0]
	if fan.Starts < 5 || fan.RunTotalS() < 20*3600 {
		t.Errorf("the week has %d starts and %.0f s of run time: too few to prove anything", fan.Starts, fan.RunTotalS())
	}
	for _, line := range []string{
		fmt.Sprintf(`loambank_fan_starts_total{fan="north",house="tunnel",store="beds"} %d`, fan.Starts),
		fmt.Sprintf(`loambank_fan_energy_kwh_total{fan="north",house="tunnel",store="beds"} %s`, short(fan.EnergyKWh)),
		fmt.Sprintf(`loambank_heat_kwh_total{direction="out",house="tunnel",kind="sensible",store="beds"} %s`, short(want.Stores[0].Out.SensibleKWh)),
	} {
		if !strings.Contains(metrics, line+"\n") {
			t.Errorf("metrics lack %q:\n%s", line, metrics)
		}
	}
	left, err := os.ReadFile("fans/north")
	if err != nil || strings.TrimSpace(string(left)) != "0" {
		t.Errorf("after the stop the fan file holds %q, %v; want 0", left, err)
	}
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// replayed replays the week and returns whether the fan was on from each row, and the account at
// the last row.
func replayed(t *testing.T, s *config.Settings, times []time.Time, rows [][]float64) ([]bool, *ledger.House) {
	t.Helper()
	var csv bytes.Buffer
	fmt.Fprintf(&csv, "time,%s\n", strings.Join(columns, ","))
	for i, at := range times {
		csv.WriteString(at.Format(time.RFC3339))
		for _, v := range rows[i] {
			csv.WriteString("," + short(v))
		}
		csv.WriteByte('\n')
	}
	reader, err := recording.NewReader(&csv, recording.Options{Zone: s.Site.Zone})
	if err != nil {
		t.Fatal(err)
	}
	changes := map[int64]bool{}
	sum, err := replay.Run(s, reader, replay.Options{OnChange: func(c replay.Change) {
		changes[c.Time.Unix()] = c.Decision().Running()
	}})
	if err != nil {
		t.Fatal(err)
	}
	on := make([]bool, len(times))
	now := false
	for i, at := range times {
		if v, changed := changes[at.Unix()]; changed {
			now = v
		}
		on[i] = now
	}
	return on, sum.Houses[0].Account
}

// ran runs the daemon over the week and returns what the fan file held after each tick, and
// account and metrics as of the last.
func ran(t *testing.T, s *config.Settings, times []time.Time, rows [][]float64) (on []bool, account *ledger.House, metrics string) {
	ctx, stop := context.WithCancel(t.Context())
	const speed = 60
	put(t, s, rows[0])
	clock := controller.Scaled(speed, times[0])
	farm, err := controller.New(ctx, s, controller.Options{Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	stopped := make(chan error)
	go func() { stopped <- farm.Run(ctx) }()
	for i, at := range times {
		clock.Sleep(ctx, at.Add(time.Minute)) // after the tick, before the next
		held, err := os.ReadFile("fans/north")
		if err != nil {
			t.Fatal(err)
		}
		on = append(on, strings.TrimSpace(string(held)) == "1")
		if i+1 < len(rows) {
			put(t, s, rows[i+1])
		}
	}
	recorder := httptest.NewRecorder()
	export.Handler(farm.View).ServeHTTP(recorder, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	account = farm.View().Houses[0].Account
	stop()
	if err := <-stopped; err != nil {
		t.Error(err)
	}
	return on, account, recorder.Body.String()
}

// put writes a row's readings into the probe files.
func put(t *testing.T, s *config.Settings, row []float64) {
	for i, stanza := range s.Houses[0].Probes {
		if err := os.WriteFile(stanza.Path, []byte(short(row[i])+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
