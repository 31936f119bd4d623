// Package alarm decides when the grower's bell sounds: which causes have lasted long enough, and
// which a person has acknowledged for now. It is pure; the output that drops is switched elsewhere.
//
// The output is held energised while all is well, so that an alarm, a power cut, a dead board and
// a cut wire all sound the bell.
package alarm

import (
	"fmt"

	"loambank/controller/decide"
)

// Cause is why a person is called. The zero value is Frost.
type Cause uint8

// The closed list of causes.
const (
	Frost Cause = iota // crop air at its frost limit and no store can help
	Smoke
	Air  // no usable air reading after the grace time
	Hand // a person keeps fans off that frost protection would run
	Fan  // a fan does not start, or does not stop
	causes
)

// Causes is the number of causes.
const Causes = int(causes)

var causeNames = [causes]string{"frost", "smoke", "air", "hand", "fan"}

// String returns the cause's word, as in the settings and in metrics.
func (c Cause) String() string {
	if c >= causes {
		return fmt.Sprintf("cause(%d)", uint8(c))
	}
	return causeNames[c]
}

// Settings says how long each cause must last before it sounds, s, and how long it stays silent
// once acknowledged, s.
type Settings struct {
	DelayS [Causes]float64
	AckS   float64
}

// State is what Step remembers: plain data. The zero value is all well.
type State struct {
	LastedS [Causes]float64 // how long the cause has been there, s
	There   [Causes]bool
	AckS    [Causes]float64 // how long it stays silent, s
}

// Step moves on by dtS seconds with what the houses report now, and with a person's
// acknowledgement of all that sounds. It returns the causes that sound.
func Step(s *Settings, st State, houses []decide.Alarms, ack bool, dtS float64) ([Causes]bool, State) {
	if !(dtS > 0) {
		dtS = 0
	}
	var sounds [Causes]bool
	now := gather(houses)
	for c := range causes {
		if !now[c] {
			st.There[c], st.LastedS[c], st.AckS[c] = false, 0, 0
			continue
		}
		if st.There[c] {
			st.LastedS[c] += dtS
		}
		st.There[c] = true
		st.AckS[c] = max(0, st.AckS[c]-dtS)
		due := st.LastedS[c] >= s.DelayS[c]
		if due && ack {
			st.AckS[c] = s.AckS
		}
		sounds[c] = due && st.AckS[c] == 0
	}
	return sounds, st
}

func gather(houses []decide.Alarms) (now [Causes]bool) {
	for _, a := range houses {
		now[Frost] = now[Frost] || a.FrostNoHelp
		now[Smoke] = now[Smoke] || a.Smoke
		now[Air] = now[Air] || a.AirLost
		now[Hand] = now[Hand] || a.HandOffFrost
		now[Fan] = now[Fan] || a.FanFault
	}
	return now
}
