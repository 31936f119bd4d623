package trial

import (
	"time"

	"loambank/controller/sim/greenhouse"
	"loambank/controller/weather"
	"loambank/drivers/device"
)

// Live is a plant under weather that goes on, to stand behind model devices.
type Live struct {
	plant   *Plant
	weather func(time.Time) weather.Sample
	now     greenhouse.Outdoors
}

// NewLive returns a plant that lives from a time on.
func NewLive(p *Plant, from time.Time, at func(time.Time) weather.Sample) *Live {
	l := &Live{plant: p, weather: at}
	l.look(from)
	return l
}

// Advance moves the plant on from a time by dtS seconds with its fans at these stages.
func (l *Live) Advance(from time.Time, dtS float64, stages [][]device.Stage) {
	var all Stages
	for i := range stages {
		for j, s := range stages[i] {
			all[i][j] = uint8(s)
		}
	}
	l.look(from)
	l.plant.step(&l.now, &all, dtS)
}

// Read returns what a probe shows, by its place among the house's probes, and whether the plant has
// that.
func (l *Live) Read(probe int) (float64, bool) {
	raw := l.plant.show(probe, &l.now)
	return raw.Value, raw.OK
}

func (l *Live) look(at time.Time) {
	w := l.weather(at)
	l.now = greenhouse.Look(&w)
}
