package alarm

import (
	"testing"

	"loambank/controller/decide"
)

func TestCausesSoundAfterTheirDelayAndFallSilentWhenAcknowledged(t *testing.T) {
	s := Settings{AckS: 100}
	s.DelayS[Air] = 30
	s.DelayS[Frost] = 0
	frost, air := decide.Alarms{FrostNoHelp: true}, decide.Alarms{AirLost: true}
	both := decide.Alarms{FrostNoHelp: true, AirLost: true}
	var st State
	for i, c := range []struct {
		what  string
		dtS   float64
		now   []decide.Alarms
		ack   bool
		frost bool
		air   bool
	}{
		{"all is well", 10, []decide.Alarms{{}, {}}, false, false, false},
		{"lost air waits for its delay", 10, []decide.Alarms{{}, air}, false, false, false},
		{"time counts from when the cause came", 29, []decide.Alarms{{}, air}, false, false, false},
		{"after its delay it sounds", 1, []decide.Alarms{{}, air}, false, false, true},
		{"acknowledged it is silent", 1, []decide.Alarms{{}, air}, true, false, false},
		{"a new cause sounds all the same", 1, []decide.Alarms{frost, air}, false, true, false},
		{"in whichever house it is", 1, []decide.Alarms{{}, both}, false, true, false},
		{"the acknowledgement ends", 98, []decide.Alarms{{}, both}, false, true, true},
		{"what is over is silent", 1, []decide.Alarms{{}, {}}, false, false, false},
		{"and counts anew when it returns", 29, []decide.Alarms{{}, air}, false, false, false},
		{"acknowledging before the delay is nothing", 29, []decide.Alarms{{}, air}, true, false, false},
		{"so that it still sounds", 1, []decide.Alarms{{}, air}, false, false, true},
		{"an undefined step is no time", -5, []decide.Alarms{{}, air}, false, false, true},
	} {
		var sounds [Causes]bool
		sounds, st = Step(&s, st, c.now, c.ack, c.dtS)
		if sounds[Frost] != c.frost || sounds[Air] != c.air {
			t.Errorf("%d %s: frost %v and air %v sound, want %v and %v", i, c.what, sounds[Frost], sounds[Air], c.frost, c.air)
		}
	}
}

func TestEveryCauseComesFromItsOwnAlarm(t *testing.T) {
	for c, alarms := range map[Cause]decide.Alarms{
		Frost: {FrostNoHelp: true}, Smoke: {Smoke: true}, Air: {AirLost: true},
		Hand: {HandOffFrost: true}, Fan: {FanFault: true},
	} {
		sounds, _ := Step(&Settings{}, State{}, []decide.Alarms{alarms}, false, 1)
		for k, on := range sounds {
			if on != (Cause(k) == c) {
				t.Errorf("%+v sounds %v: %v", alarms, Cause(k), on)
			}
		}
	}
}
