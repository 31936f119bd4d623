package page

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
)

var noon = time.Date(2026, time.January, 20, 12, 0, 0, 0, time.UTC)

// recordOf takes samples of one probe and one store into a record of an hour in slots of 5 min.
func recordOf(tick time.Duration, samples ...history.Sample) *record {
	r := &record{from: noon, slot: 5 * time.Minute, probes: []line{make(line, 12)}, stores: []lane{make(lane, 12)}}
	for i := range samples {
		r.add(&samples[i], places{probes: []int{0}, stores: []int{0}}, tick)
	}
	return r
}

func sampleAt(after time.Duration, stepS int, mean, low, high, onS float64) history.Sample {
	return history.Sample{
		At: noon.Add(after), StepS: stepS, Probes: []history.ProbeSample{{Mean: mean, Min: low, Max: high, Quality: judge.Good, Share: 1}},
		Stores: []history.StoreSample{{State: decide.Discharge, OnS: onS}},
	}
}

func TestWhereASampleGoes(t *testing.T) {
	for _, tt := range []struct {
		name   string
		tick   time.Duration
		sample history.Sample
		seen   [12]float64 // time known of each slot, s
		onS    float64
	}{
		{"a minute within a slot", 10 * time.Second, sampleAt(time.Minute, 60, 3, 2, 4, 30), [12]float64{60}, 30},
		{"an hour over all of them", 10 * time.Second, sampleAt(0, 3600, 3, 2, 4, 1800), [12]float64{300, 300, 300, 300, 300, 300, 300, 300, 300, 300, 300, 300}, 1800},
		{"a quarter that begins before", 10 * time.Second, sampleAt(-10*time.Minute, 900, 3, 2, 4, 900), [12]float64{300}, 300},
		{"a minute that stands for a tick of ten", 10 * time.Minute, sampleAt(2*time.Minute, 60, 3, 2, 4, 60), [12]float64{180, 300, 120}, 600},
		{"one past the end", 10 * time.Second, sampleAt(time.Hour, 60, 3, 2, 4, 60), [12]float64{}, 0},
		{"one long before", 10 * time.Second, sampleAt(-time.Hour, 60, 3, 2, 4, 60), [12]float64{}, 0},
	} {
		r := recordOf(tt.tick, tt.sample)
		onS := 0.0
		for slot := range tt.seen {
			if got := r.probes[0][slot].weightS; math.Abs(got-tt.seen[slot]) > 1e-9 {
				t.Errorf("%s: slot %d knows %v s, want %v", tt.name, slot, got, tt.seen[slot])
			}
			s, _ := r.stores[0].onS(slot)
			onS += s
		}
		if math.Abs(onS-tt.onS) > 1e-9 {
			t.Errorf("%s: fans on %v s, want %v", tt.name, onS, tt.onS)
		}
	}
}

func TestABadReadingIsNone(t *testing.T) {
	s := sampleAt(0, 60, 99, 99, 99, 0)
	s.Probes[0].Quality = judge.Bad
	if r := recordOf(0, s); r.probes[0][0].weightS != 0 {
		t.Error("a bad reading is shown")
	}
}

// TestNoColdMinuteIsLost wants the coldest and the warmest reading in the picture and in the table.
func TestNoColdMinuteIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low, high, sum, n := math.Inf(1), math.Inf(-1), 0.0, 0
		var samples []history.Sample
		for minute := range rapid.IntRange(1, 60).Draw(t, "minutes") {
			v := rapid.Float64Range(-30, 50).Draw(t, "mean")
			spread := rapid.Float64Range(0, 3).Draw(t, "spread")
			samples = append(samples, sampleAt(time.Duration(minute)*time.Minute, 60, v, v-spread, v+spread, 0))
			low, high, sum, n = min(low, v-spread), max(high, v+spread), sum+v, n+1
		}
		r := recordOf(0, samples...)
		drawnLow, drawnHigh := math.Inf(1), math.Inf(-1)
		for _, p := range r.points(0, true, func(v float64) float64 { return v }) {
			if !p.Gap {
				drawnLow, drawnHigh = min(drawnLow, p.Value), max(drawnHigh, p.Value)
			}
		}
		var all cell
		for i := range r.probes[0] {
			all.merge(&r.probes[0][i])
		}
		mean := sum / float64(n)
		if drawnLow != low || drawnHigh != high || all.min != low || all.max != high || math.Abs(all.sum/all.weightS-mean) > 1e-9 {
			t.Fatalf("drawn %v to %v, told %v to %v about %v; want %v to %v about %v", drawnLow, drawnHigh, all.min, all.max, all.sum/all.weightS, low, high, mean)
		}
	})
}

func TestACurveBreaksWhereNothingWasRead(t *testing.T) {
	r := recordOf(0, sampleAt(0, 60, 3, 3, 3, 0), sampleAt(20*time.Minute, 60, 4, 4, 4, 0))
	got := r.points(0, true, func(v float64) float64 { return v })
	if len(got) < 3 || got[0].Gap || !got[1].Gap || got[2].Gap || got[2].Value != 4 {
		t.Errorf("%+v", got)
	}
}

func TestWhatTheFansDid(t *testing.T) {
	r := recordOf(0,
		sampleAt(0, 60, 0, 0, 0, 60), sampleAt(5*time.Minute, 60, 0, 0, 0, 60), // two slots at a stretch
		sampleAt(15*time.Minute, 60, 0, 0, 0, 12), // a fifth of the time is not on
		sampleAt(20*time.Minute, 60, 0, 0, 0, 18), // three tenths are
	)
	h := &house.Settings{Decide: decide.Settings{Stores: []decide.Store{{Name: "beds"}}}}
	got := lanes(r, h)[0].Stretches
	if len(got) != 2 || got[0].To.Sub(got[0].From) != 10*time.Minute || got[1].From != noon.Add(20*time.Minute) || got[0].Kind != "discharge (heat up)" {
		t.Errorf("%+v", got)
	}
}

// TestTheTableSaysWhatThePictureShows reads figures off a table in °F.
func TestTheTableSaysWhatThePictureShows(t *testing.T) {
	r := recordOf(0, sampleAt(0, 60, 3, 2, 4, 60), sampleAt(time.Minute, 60, 5, 4, 10, 30))
	s, set := asking(t, "2026-01-20 12:30")
	q, err := askedOf(nil, s, set)
	if err != nil {
		t.Fatal(err)
	}
	q.from, q.to, q.now = noon, noon.Add(time.Hour), noon
	q.house = &config.House{House: house.Settings{Name: "lower", Probes: []house.Probe{{Name: "air", Judge: judge.Settings{Role: judge.Air}}}}}
	q.house.House.Decide.Stores = []decide.Store{{Name: "beds"}}
	got := tabulate(r, q, unit.US)
	// 4, 2 and 10 °C are 39.2, 35.6 and 50 °F.
	if len(got.Rows) != 1 || got.Rows[0].Cells[0] != "39.2 (35.6 to 50.0)" || got.Rows[0].Cells[1] != "1 min 30 s" || got.Columns[0] != "air, °F" {
		t.Errorf("%+v", got)
	}
}

func TestAProbeIsFoundByNameWhereverItStood(t *testing.T) {
	l := &history.Layout{Probes: []string{"gone", "deep", "air"}, Stores: []history.StoreLayout{{Name: "path"}, {Name: "beds"}}}
	h := &house.Settings{Probes: []house.Probe{{Name: "air"}, {Name: "deep"}}, Decide: decide.Settings{Stores: []decide.Store{{Name: "beds"}}}}
	p := placesOf(l, h)
	if p.probes[0] != -1 || p.probes[1] != 1 || p.probes[2] != 0 || p.stores[0] != -1 || p.stores[1] != 0 {
		t.Errorf("%+v", p)
	}
}

// TestACurveTakesTheShortWay wants the least and the greatest of a slot in the order that leads on.
func TestACurveTakesTheShortWay(t *testing.T) {
	r := recordOf(0, sampleAt(0, 60, 2, 1, 3, 0), sampleAt(5*time.Minute, 60, 4, 3, 5, 0), sampleAt(10*time.Minute, 60, 1, 0, 2, 0))
	var got []float64
	for _, p := range r.points(0, true, func(v float64) float64 { return v })[:6] {
		got = append(got, p.Value)
	}
	if want := []float64{1, 3, 3, 5, 2, 0}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
