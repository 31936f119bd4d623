package decide_test

import (
	"testing"

	"loambank/controller/decide"
)

// twoFans gives the first store a second fan, of two speeds.
func twoFans(s *decide.Settings) {
	one(s)
	fans := append([]decide.Fan(nil), s.Stores[0].Fans...)
	s.Stores[0].Fans = append(fans, decide.Fan{Name: "west", PowerW: 400, FlowM3s: 0.5, Levels: []float64{0.5, 1}})
}

// TestAPersonRunsOneFanAlone whatever the rules want of the others.
func TestAPersonRunsOneFanAlone(t *testing.T) {
	y := begin(t, farm(t, twoFans, cheap), noon(t))
	warm := seen(20, 12)
	stages := func(what string, east, west uint8) {
		t.Helper()
		if got := y.d.Stores[0].Stages; got != [decide.MaxFans]uint8{east, west} {
			t.Errorf("%s: stages %v, want east at %d and west at %d", what, got, east, west)
		}
	}
	for range 3 {
		y.pass(0, warm) // the second follows after the stagger
	}
	stages("charging pays", 1, 2)
	alone := warm
	alone.Stores[0].Order = decide.Order{Kind: decide.OrderRun, Stage: 1, Fan: 2, ForS: 30}
	y.pass(0, alone)
	stages("west alone at its first speed", 0, 1)
	y.want("one fan by hand", decide.Charge, decide.HandRun)
	const slowW = 400 * 0.5 * 0.5 * 0.5 // by the fan laws
	if got := y.d.Stores[0].PowerW; got != slowW {
		t.Errorf("%v W are expected, want %v: the other fan draws nothing", got, slowW)
	}
	y.pass(0, warm)
	y.pass(0, warm)
	stages("while the order holds", 0, 1)
	y.pass(0, warm)
	y.want("after the order", decide.Charge, decide.ChargePays)
	if y.st.Stores[0].OrderFan != 0 {
		t.Error("the order is over, but its fan is remembered")
	}
	y.pass(0, alone)
	all := warm
	all.Stores[0].Order = decide.Order{Kind: decide.OrderRun, ForS: 600}
	y.pass(0, all)
	y.pass(0, warm)
	y.pass(0, warm)
	stages("a newer order for all of them", 1, 2)
	if y.st.Stores[0].OrderFan != 0 {
		t.Error("the order for all remembers one fan")
	}
}

// TestFrostRunsEveryFanWhateverIsLookedAt has the crop at its frost limit under an order for one fan.
func TestFrostRunsEveryFanWhateverIsLookedAt(t *testing.T) {
	y := begin(t, farm(t, twoFans, cheap), noon(t))
	alone := seen(20, 12)
	alone.Stores[0].Order = decide.Order{Kind: decide.OrderRun, Fan: 2, ForS: 3600}
	y.pass(0, alone)
	y.want("one fan by hand", decide.Charge, decide.HandRun)
	cold := seen(-5, 12)
	for range 3 { // the second fan follows after the stagger
		y.pass(0, cold)
	}
	y.want("the crop freezes", decide.Frost, decide.FrostProtect)
	if got := y.d.Stores[0].Stages; got != [decide.MaxFans]uint8{1, 2} {
		t.Errorf("stages %v, want both fans at full speed", got)
	}
	y.pass(0, seen(20, 12))
	y.want("the frost is over", decide.Charge, decide.HandRun)
	if got := y.d.Stores[0].Stages; got != [decide.MaxFans]uint8{0, 2} {
		t.Errorf("stages %v, want the order to go on: west alone", got)
	}
}
