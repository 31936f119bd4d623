package replay_test

import (
	"math"
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

const yearRows = 365 * 24 * 60

// year is a made-up year of readings each minute for testdata/winter/tunnel.toml: sunny and dull
// days in turn over a yearly wave, in tenths as a logger writes them.
func year() []judge.Raw {
	tenths := func(v float64) float64 { return math.Round(10*v) / 10 }
	raw := make([]judge.Raw, 0, yearRows*cells)
	for minute := range yearRows {
		day := float64(minute) / 1440
		season := math.Cos(2 * math.Pi * (day - 20) / 365)
		hour := 2 * math.Pi * (math.Mod(day, 1) - 0.6)
		swing := 4 + 6*math.Abs(math.Sin(math.Floor(day)*1.7))
		air := 13 - 10*season + swing*math.Cos(hour)
		for _, v := range [cells]float64{
			airCell:      tenths(air),
			humidityCell: tenths(70-25*math.Cos(hour)) / 100,
			deepCell:     tenths(14 - 7*math.Cos(2*math.Pi*(day-50)/365)),
			shallowCell:  tenths(13 - 8*season + swing/4*math.Cos(hour-1)),
		} {
			raw = append(raw, judge.Raw{Value: v, OK: true})
		}
	}
	return raw
}

// BenchmarkReplayYear judges and decides a year of minutes: what a replay costs beside reading its
// recording.
func BenchmarkReplayYear(b *testing.B) {
	s := &farm(b).Houses[0].House
	raw := year()
	begin := time.Date(2026, time.January, 1, 0, 0, 0, 0, rome(b))
	var ran [decide.Activities]int
	b.ReportAllocs()
	for b.Loop() {
		ran = [decide.Activities]int{}
		h, now := house.New(s, house.State{}), begin
		for i := range yearRows {
			result := h.Tick(house.Seen{StepS: 60, Believed: true, Raw: raw[i*cells : (i+1)*cells]}, now)
			ran[result.Decision.Stores[0].State]++
			now = now.Add(time.Minute)
		}
	}
	b.ReportMetric(float64(yearRows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
	for _, a := range []decide.Activity{decide.Charge, decide.Discharge, decide.Frost} {
		if ran[a] < yearRows/200 {
			b.Errorf("%v for %d of %d minutes: such a year proves nothing", a, ran[a], yearRows)
		}
	}
}
