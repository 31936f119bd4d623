package trial

import (
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/judge"
)

// laid is a year of weather for benchmarks, laid out before they begin.
func laid(b *testing.B, s *config.Settings) *Year {
	b.Helper()
	y, err := Lay(year(b), s.Site.Zone)
	if err != nil {
		b.Fatal(err)
	}
	return y
}

// yearsPerSecond reports how many of the years in each loop pass in a second on the one core that a
// trial takes.
func yearsPerSecond(b *testing.B, each int) {
	b.ReportMetric(float64(each*b.N)/b.Elapsed().Seconds(), "house-years/s")
}

// BenchmarkYear is two years of house, soil and pipes under a rule. Never and the thermostats cost
// nothing themselves, so that theirs is the model alone; configured is with judge and decide.
func BenchmarkYear(b *testing.B) {
	s := farm(b)
	y := laid(b, s)
	made, err := plant(s, year(b))
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name string
		rule func(*config.House) Rule
	}{
		{"never", never},
		{"thermostats", func(h *config.House) Rule { return UsualThermostats(h, s.Turn) }},
		{"configured", configured},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				p, err := made.Again(&s.Houses[0])
				if err != nil {
					b.Fatal(err)
				}
				p.Run(y, c.rule(&s.Houses[0]), false, nil)
			}
			yearsPerSecond(b, 2)
		})
	}
}

// BenchmarkNewPlant is what a trial of another soil costs before its first step.
func BenchmarkNewPlant(b *testing.B) {
	s := farm(b)
	for b.Loop() {
		if _, err := plant(s, year(b)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDecisions is judge and decide alone, through a year of readings seen under thermostats.
func BenchmarkDecisions(b *testing.B) {
	s := farm(b)
	y := laid(b, s)
	p, err := plant(s, year(b))
	if err != nil {
		b.Fatal(err)
	}
	var seen [][]judge.Raw
	var times []time.Time
	start := time.Date(2001, time.January, 1, 0, 0, 0, 0, time.UTC).Add(-y.Offset)
	rule := UsualThermostats(&s.Houses[0], s.Turn)
	for i := range y.Samples {
		w, now := &y.Samples[i], start.Add(time.Duration(i)*StepS*time.Second).In(y.Zone)
		stages, _ := rule.Decide(p.readings(w, p.looks(&Configured{})), now)
		seen, times = append(seen, append([]judge.Raw(nil), p.raw...)), append(times, now)
		p.step(w, &stages, StepS)
	}
	for b.Loop() {
		c := NewConfigured(&s.Houses[0].House)
		for i, raw := range seen {
			c.Decide(raw, times[i])
		}
	}
	yearsPerSecond(b, 1)
}
