package config

import (
	"loambank/controller/alarm"
)

// buildAlarm reads when the bell rings and what rings it.
func (b *builder) buildAlarm(t AlarmTable) Alarm {
	b.group = "alarm"
	var a Alarm
	if t.Output == nil {
		b.line("output", "none", true)
	} else {
		const table = "alarm.output"
		a.Present = true
		a.Output = b.buildDevice(table, "alarm", t.Output.DeviceKeys, nil, asOutput)
		active := b.choice(table, "active", t.Output.Active, "high", "low")
		a.Output.ActiveLow, a.Output.Levels = active == "low", []float64{1}
		b.line("output", t.Output.wiring(), false)
		b.line("output.active", active, t.Output.Active == "")
	}
	delays := [alarm.Causes]Duration{
		alarm.Frost: t.Delay.Frost, alarm.Smoke: t.Delay.Smoke, alarm.Air: t.Delay.Air,
		alarm.Hand: t.Delay.Hand, alarm.Fan: t.Delay.Fan,
	}
	for c := range alarm.Causes {
		key := alarm.Cause(c).String()
		stated := b.seconds("alarm.delay", key, delays[c], 0, 3600)
		a.Settings.DelayS[c] = set(b, "delay."+key, stated, b.defaults.alarmDelayS[c], b.display.Duration)
	}
	a.Settings.AckS = set(b, "ack", b.seconds("alarm", "ack", t.Ack, 60, 12*3600), b.defaults.alarmAckS, b.display.Duration)
	return a
}
