package main

import (
	"bytes"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func richmondClimate(t *testing.T) climate {
	t.Helper()
	w := &world{ctx: t.Context(), stdout: io.Discard, stderr: io.Discard}
	data := filepath.Join("..", "..", "testdata")
	land, err := climateOf(w, filepath.Join(data, "config", "example.toml"), filepath.Join(data, "weather", "USA_VA_Richmond.Intl.AP.724010_TMY3.epw.gz"), "")
	if err != nil {
		t.Fatal(err)
	}
	return land
}

// TestFansMoveWhatWasLearned: all fans of a store alike, and no longer by half of a catalogue's figure.
func TestFansMoveWhatWasLearned(t *testing.T) {
	land := richmondClimate(t)
	store := &land.h.House.Decide.Stores[0]
	second := store.Fans[0]
	second.FlowM3s /= 3
	store.Fans = append(store.Fans, second)
	stated := store.Fans[0].FlowM3s
	land.move([]float64{0})
	var out bytes.Buffer
	land.tellAirflow(&out)
	if store.Fans[0].FlowM3s != stated || !store.Fans[0].Catalogue || out.Len() > 0 {
		t.Errorf("nothing learned: %+v, told %q", store.Fans[0], &out)
	}
	land.move([]float64{1})
	if a, b := store.Fans[0], store.Fans[1]; math.Abs(a.FlowM3s-0.75) > 1e-12 || math.Abs(b.FlowM3s-0.25) > 1e-12 || a.Catalogue || b.Catalogue {
		t.Errorf("fans move %+v and %+v", a, b)
	}
	land.tellAirflow(&out)
	// 1 m³/s is 2119 cfm; 2800 cfm and a third of it are stated.
	if got := out.String(); !strings.Contains(got, "beds 2119 cfm (stated 3733 cfm)") || strings.Count(got, "\n") != 2 {
		t.Errorf("told is %q", got)
	}
	if want := []airflow{{"beds", 1, 1.762}}; len(land.airflow) != 1 || land.airflow[0] != want[0] {
		t.Errorf("%+v, want %+v", land.airflow, want)
	}
}

// TestWhatCannotBeReadOfTheAirflowIsTold, and the settings count.
func TestWhatCannotBeReadOfTheAirflowIsTold(t *testing.T) {
	land := richmondClimate(t)
	land.s.StateDir = t.TempDir()
	before := land.h.House.Decide.Stores[0].Fans[0]
	var told bytes.Buffer
	w := &world{ctx: t.Context(), stdout: io.Discard, stderr: &told}
	land.asLearned(w)
	if told.Len() > 0 {
		t.Errorf("told of nothing: %q", &told)
	}
	if err := os.WriteFile(filepath.Join(land.s.StateDir, "learned.json"), []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	land.asLearned(w)
	if got := land.h.House.Decide.Stores[0].Fans[0]; got.FlowM3s != before.FlowM3s || !strings.Contains(told.String(), "the stated airflow counts") {
		t.Errorf("%+v, told %q", got, &told)
	}
}
