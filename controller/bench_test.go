package controller

import (
	"fmt"
	"strings"
	"testing"

	"loambank/config"
)

// modelFarm is the settings of a farm of that many simulated houses.
func modelFarm(tb testing.TB, houses int) *config.Settings {
	tb.Helper()
	text := fmt.Sprintf(site, "10 s")
	for i := range houses {
		house := fmt.Sprintf(tables, "/dev/null", fmt.Sprintf("house%d", i))
		house = strings.ReplaceAll(house, `driver = "file", path = "/dev/null/air"`, `driver = "model"`)
		for _, device := range []string{"deep", "east", "west"} {
			house = strings.ReplaceAll(house, `driver = "file", path = "/dev/null/`+device+`"`, `driver = "model"`)
		}
		text += house
	}
	s, err := config.Parse("farm.toml", []byte(text), nil)
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

// BenchmarkTick is one tick of a hundred simulated houses: devices read, decided, fans driven,
// account booked, snapshot taken.
func BenchmarkTick(b *testing.B) {
	const houses = 100
	c, err := New(b.Context(), modelFarm(b, houses), Options{Clock: Scaled(60, from)})
	if err != nil {
		b.Fatal(err)
	}
	defer func() {
		if err := c.closeHouses(); err != nil {
			b.Error(err)
		}
	}()
	b.ReportAllocs()
	for b.Loop() {
		for _, r := range c.houses() {
			r.step(b.Context(), false)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/houses, "µs/house")
}
