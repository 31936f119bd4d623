package ledger_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"loambank/controller/decide"
	"loambank/controller/ledger"
)

// table reads a CSV of testdata/reference as rows by column name.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, r := range records[1:] {
		row := map[string]string{}
		for k, v := range r {
			row[records[0][k]] = v
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestWorkedDay books the worked day's heat rates, each holding until the next, and wants the
// day's integrals.
func TestWorkedDay(t *testing.T) {
	expected := map[string]float64{}
	for _, row := range table(t, "worked_day.csv") {
		expected[row["id"]] = number(t, row["expected"])
	}
	s := &decide.Settings{Stores: []decide.Store{{
		Name: "beds", Fans: []decide.Fan{{Name: "east", PowerW: 210, Levels: []float64{1}}},
	}}}
	series := table(t, "worked_day_series.csv")
	h := ledger.New("lower", s)
	for i, row := range series[:len(series)-1] {
		d := &decide.Decision{}
		sd := &d.Stores[0]
		sd.State, sd.Stages[0] = decide.Charge, 1
		sd.HeatW = number(t, row["heat_total_W"])
		sd.LatentW = sd.HeatW - number(t, row["heat_sensible_W"])
		sd.CondensateKgS = number(t, row["condensate_kg_h"]) / 3600
		h.Add(s, unseen, d, number(t, series[i+1]["t_s"])-number(t, row["t_s"]))
	}
	in, fan := h.Stores[0].In, h.Stores[0].Fans[0]
	const waterKgPerLitre = 0.9981608 // at 20 °C, water_and_condensate-S030
	for _, c := range []struct {
		id, what string
		got, rel float64
	}{
		{"worked_day-S001", "total heat, kWh", in.KWh(), 5e-3},
		{"worked_day-S003", "sensible heat, kWh", in.SensibleKWh, 5e-3},
		{"worked_day-S005", "condensate, kg", h.Stores[0].CondensateLitres * waterKgPerLitre, 5e-3},
		{"worked_day-S007", "latent share", in.LatentKWh / in.KWh(), 0.01 / 0.267},
		{"worked_day-S008", "fan energy, kWh", fan.EnergyKWh, 1e-4},
		{"worked_day-S009", "heat per electricity", in.KWh() / fan.EnergyKWh, 6e-3},
	} {
		want, ok := expected[c.id]
		if !ok || math.Abs(c.got-want) > c.rel*want {
			t.Errorf("%s, %s: got %.6f, want %.6f within %g", c.id, c.what, c.got, want, c.rel*want)
		}
	}
	if run := fan.RunS[decide.Charge]; run != 6*hour {
		t.Errorf("the fan ran %v s, want six hours", run)
	}
}
