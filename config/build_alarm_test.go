package config

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/alarm"
	"loambank/drivers"
)

func TestAlarmIsBuilt(t *testing.T) {
	const house = "[[house]]\n"
	standard := alarm.Settings{AckS: 3600}
	standard.DelayS[alarm.Frost], standard.DelayS[alarm.Air] = 120, 300
	standard.DelayS[alarm.Hand], standard.DelayS[alarm.Fan] = 300, 60
	own := standard
	own.DelayS[alarm.Smoke], own.DelayS[alarm.Frost], own.DelayS[alarm.Air] = 5, 0, 600
	own.DelayS[alarm.Hand], own.DelayS[alarm.Fan], own.AckS = 180, 3600, 60
	for _, c := range []struct {
		name, table string
		want        Alarm
	}{
		{"nothing is written", "", Alarm{Settings: standard}},
		{
			"a relay that is held by its low level", `output = { driver = "relay", pin = "GPIO27", active = "low" }`,
			Alarm{true, drivers.Stanza{Driver: "relay", Pin: "GPIO27", ActiveLow: true}, standard},
		},
		{
			"a file", `output = { driver = "file", path = "/run/bell", format = "led" }`,
			Alarm{true, drivers.Stanza{Driver: "file", Path: "/run/bell", Format: "led"}, standard},
		},
		{
			"times without a bell, for the page and the log",
			"ack = \"1 min\"\ndelay = { frost = \"0 s\", smoke = \"5 s\", air = \"10 min\", hand = \"3 min\", fan = \"1 h\" }",
			Alarm{Settings: own},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			table := ""
			if c.table != "" {
				table = "[alarm]\n" + c.table + "\n"
			}
			if c.want.Present {
				o := &c.want.Output
				o.Where, o.Name, o.Levels = "farm.toml:5", "alarm", []float64{1}
			}
			s := parse(t, house, table+house)
			if diff := cmp.Diff(c.want, s.Alarm); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}
