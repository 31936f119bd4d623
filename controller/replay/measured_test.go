package replay_test

import (
	"math"
	"strings"
	"testing"

	"loambank/controller/replay"
)

// TestARecordedMeterIsBooked saves a crop from frost for an hour with a fan of stated 200 W, of
// which the meter says 150 W.
func TestARecordedMeterIsBooked(t *testing.T) {
	const soil = `path = "upper/deep", stale = "12 h" }`
	if !strings.Contains(twoHouses, soil) {
		t.Fatal("no soil to put a meter beside")
	}
	s := parse(t, strings.Replace(twoHouses, soil, soil+`, { role = "fan-power", name = "meter", driver = "file", path = "upper/meter" }`, 1))
	lines := []string{"time,upper/air_degC,upper/beds/deep_degC,upper/beds/meter_W", "2026-01-20T02:00:00,1,12,0"}
	for _, at := range []string{"02:05", "02:10", "02:15", "02:20", "02:25", "02:30", "02:35", "02:40", "02:45", "02:50", "02:55", "03:00"} {
		lines = append(lines, "2026-01-20T"+at+":00,1,12,150")
	}
	sum, err := replay.Run(s, rows(t, lines...), replay.Options{})
	if err != nil {
		t.Fatal(err)
	}
	fan := sum.Houses[1].Account.Stores[0].Fans[0]
	if fan.RunTotalS() != 3600 || math.Abs(fan.EnergyKWh-0.15) > 1e-9 {
		t.Errorf("it ran %v s for %v kWh, want an hour and 0.15 kWh", fan.RunTotalS(), fan.EnergyKWh)
	}
}
