package controller

import (
	"testing"
	"testing/synctest"
	"time"

	"loambank/controller/history"
)

// TestTheFarmLooksBackEachNight runs over two midnights, the second with settings that do not load.
func TestTheFarmLooksBackEachNight(t *testing.T) {
	g := stake(t, "1 min", "lower", "upper")
	g.state = inMemory(t)
	synctest.Test(t, func(t *testing.T) {
		const speed = 60
		g.clock = Scaled(speed, from)
		f := g.run(t, nil)
		pass(2 * time.Hour / speed) // to one in the morning
		if n := f.log.with("level=INFO", "yesterday", "house=upper", "starts=", "lowest=\"3.0 °C\"", "fan_hours=1.", "frost_limit_hours=0"); n != 1 {
			t.Errorf("yesterday is told %d times, want once:\n%s", n, &f.log.b)
		}
		if n := f.log.with("self-check passed"); n != 1 {
			t.Errorf("the self-check passed %d times, want once", n)
		}
		f.KeptOld()
		pass(24 * time.Hour / speed)
		if n := f.log.with("level=WARN", "self-check", "The settings file has faults"); n != 1 {
			t.Errorf("faulty settings are found %d times, want once", n)
		}
		if n := f.log.with("yesterday", "house=lower"); n != 2 {
			t.Errorf("%d days are looked back on, want two", n)
		}
		if n := f.log.with("looking back broke off"); n != 0 {
			t.Errorf("looking back broke off:\n%s", &f.log.b)
		}
		if err := f.end(); err != nil {
			t.Error(err)
		}
	})
	r, err := history.OpenReader(g.state)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	found := 0
	for n, err := range r.Notes(time.Time{}, time.Unix(1<<40, 0)) {
		if err != nil {
			t.Fatal(err)
		}
		if n.Kind == history.FaultNote && n.House == "" {
			found++
		}
	}
	if found != 1 {
		t.Errorf("%d findings are in the journal, want one", found)
	}
}
