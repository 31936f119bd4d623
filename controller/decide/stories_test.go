package decide_test

import (
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

func TestAllSoilProbesLostOnAFrostyNight(t *testing.T) {
	y := begin(t, farm(t, one), night(t))
	y.pass(time.Hour, seen(5, 12))
	y.want("a cool evening", decide.Discharge, decide.DischargePays)

	// Carried on, less and less certain; then bad after 48 h.
	lost := func(air unit.Celsius, hours float64) decide.Inputs {
		in := seen(air, 12)
		in.Stores[0].Soil = judge.Carried{
			C: 12, Known: true, Quality: judge.Doubtful,
			Uncertain: unit.Kelvin(0.02 * hours), LostS: hours * 3600,
		}
		if hours > 48 {
			in.Stores[0].Soil.Quality = judge.Bad
		}
		return in
	}
	y.pass(time.Hour, lost(4, 1))
	y.want("an hour after the probes were lost", decide.Discharge, decide.DischargePays)
	y.pass(time.Hour, lost(1, 2))
	y.want("at 1 °C", decide.Frost, decide.FrostProtect)
	y.pass(time.Hour, lost(5, 49))
	y.want("after 48 h, out of frost", decide.Rest, decide.SoilLost)
	y.pass(time.Hour, lost(1, 50))
	y.want("after 48 h at 1 °C", decide.Frost, decide.FrostProtect)
	never := seen(1, 12)
	noSoil(&never)
	y = begin(t, farm(t, one), night(t))
	y.pass(time.Hour, never)
	y.want("soil never read at 1 °C", decide.Frost, decide.FrostProtect)
}

func TestIrrigationIsNoReasonToStop(t *testing.T) {
	y := begin(t, farm(t, one, cheap), noon(t))
	in := seen(20, 12)
	roots(13, 14)(&in)
	y.pass(time.Hour, in)
	y.want("before", decide.Charge, decide.ChargePays)
	wet := in
	roots(10, 11)(&wet)
	for range 360 {
		y.pass(0, wet)
		y.want("root soil 3 K colder", decide.Charge, decide.ChargePays)
	}
	z := begin(t, farm(t, one), night(t))
	cold := seen(4, 12)
	roots(9, 12)(&cold)
	z.pass(time.Hour, cold)
	z.want("a night before", decide.Discharge, decide.DischargePays)
	roots(6, 9)(&cold)
	z.pass(time.Hour, cold)
	z.want("roots watered under their floor", decide.Rest, decide.SoilAtFloor)
	cold = seen(1, 12)
	roots(6, 9)(&cold)
	z.pass(0, cold)
	z.want("but frost protection runs", decide.Frost, decide.FrostProtect)
}

// Melting snow on the plastic holds the probe at exactly 0.0 °C; judge calls that stuck, doubtful.
func TestEightHoursAtZeroUnderMeltingSnow(t *testing.T) {
	y := begin(t, farm(t, one), night(t))
	in := seen(0, 12)
	doubtfulAir(&in)
	for range 8 * 360 {
		y.pass(0, in)
		y.want("under melting snow", decide.Frost, decide.FrostProtect)
	}
	if y.st.Stores[0].RunS != 8*3600-10 || y.d.Alarms.Any() {
		t.Errorf("ran %v s, alarms %+v", y.st.Stores[0].RunS, y.d.Alarms)
	}
}

func TestHeaterOnAtDusk(t *testing.T) {
	y := begin(t, farm(t, one, cheap), local(t, "2026-01-20T16:30:00"))
	y.pass(5*time.Minute, seen(20, 12))
	y.want("the last sun", decide.Charge, decide.ChargePays)
	on := seen(20, 12)
	heater(&on)
	y.pass(0, on)
	y.want("the heater cuts in", decide.Rest, decide.HeaterOn)
	y.pass(20*time.Minute, on)
	y.pass(29*time.Minute+50*time.Second, seen(20, 12))
	y.want("not half an hour after it", decide.Rest, decide.HeaterRecent)
	y.pass(0, seen(20, 12))
	y.want("half an hour after it", decide.Charge, decide.ChargePays)
}

func TestVentForgottenOpenAtSunset(t *testing.T) {
	y := begin(t, farm(t, one), local(t, "2026-01-20T17:00:00"))
	open := func(air unit.Celsius) decide.Inputs {
		in := seen(air, 12)
		vent(&in)
		return in
	}
	y.pass(2*time.Hour, open(4))
	y.want("the heat would leave by it", decide.Rest, decide.VentOpen)
	y.pass(0, open(1))
	y.want("the crop must be saved", decide.Frost, decide.FrostProtect)
	y.pass(time.Hour, open(4))
	y.want("saved", decide.Rest, decide.VentOpen)
	y.pass(time.Hour, seen(4, 12))
	y.want("the vent shut", decide.Discharge, decide.DischargePays)
}

func TestPowerBackWithSixFansWaiting(t *testing.T) {
	const limitW = 3 * 600
	s := farm(t, one, manyFans(6), func(s *decide.Settings) { s.MaxPowerW = limitW })
	y := &story{t: t, s: s, now: night(t)}
	var started []time.Time
	for range 360 {
		was := on(&y.d)
		d := y.pass(0, seen(0, 12))
		if d.PowerW > limitW {
			t.Fatalf("%v W of %d", d.PowerW, limitW)
		}
		switch now := on(&y.d); {
		case now > was+1:
			t.Fatalf("%d fans at once", now-was)
		case now == was+1:
			started = append(started, y.now)
		case now < was:
			t.Fatal("a fan stopped")
		}
	}
	if len(started) != 3 || y.d.Stores[0].State != decide.Frost {
		t.Fatalf("%d fans started, %v", len(started), y.d.Stores[0].State)
	}
	for i := 1; i < 3; i++ {
		if gap := started[i].Sub(started[i-1]); gap < 10*time.Second {
			t.Errorf("%v between starts", gap)
		}
	}
	if w := y.d.Stores[0].Waiting; w.Code != decide.WaitPower || w.Need != 600 {
		t.Errorf("the others wait for %+v", w)
	}
	s.MaxPowerW = 0
	y.s = s
	y.pass(30*time.Second, seen(0, 12))
	if n := on(&y.d); n != 6 {
		t.Errorf("with power enough %d fans run", n)
	}
}

// A whole winter's day: each rule takes its turn and says so.
func TestAWintersDay(t *testing.T) {
	y := begin(t, farm(t, one, electricity(0.05)), local(t, "2026-01-20T06:00:00"))
	for _, hour := range []struct {
		what  string
		in    decide.Inputs
		state decide.Activity
		code  decide.Code
	}{
		{"before dawn", seen(1, 12), decide.Frost, decide.FrostProtect},
		{"the sun comes", seen(4, 11.5), decide.Discharge, decide.DischargePays},
		{"warmer", seen(9, 11.5), decide.Rest, decide.AboveSetpoint},
		{"as warm as the soil", seen(12, 11.5), decide.Rest, decide.MarginUnmet},
		{"a bright noon", seen(22, 11.5), decide.Charge, decide.ChargePays},
		{"a cloud", seen(14.5, 12), decide.Charge, decide.ChargePays},
		{"clouded over", seen(14, 12), decide.Rest, decide.MarginUnmet},
		{"dusk", seen(8, 12), decide.Rest, decide.AboveSetpoint},
		{"evening", seen(5, 12), decide.Discharge, decide.DischargePays},
		{"a clear night", seen(1.4, 12), decide.Frost, decide.FrostProtect},
		{"saved", seen(2.4, 12), decide.Frost, decide.FrostProtect},
		{"out of danger", seen(2.6, 12), decide.Discharge, decide.DischargeProtect},
	} {
		hour.in.Outside = good(-6)
		y.pass(time.Hour, hour.in)
		y.want(hour.what, hour.state, hour.code)
	}
}
