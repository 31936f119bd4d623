package decide_test

import (
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
)

// proven wires a proof to every fan that must agree within half a minute.
func proven(s *decide.Settings) {
	for i := range s.Stores {
		for j := range s.Stores[i].Fans {
			s.Stores[i].Fans[j].ProofS = 30
		}
	}
}

// proof sets what is seen of the first store's fan.
func proof(in decide.Inputs, p decide.Proof, weak bool) decide.Inputs {
	in.Stores[0].Fans[0] = decide.Feedback{Proof: p, Weak: weak}
	return in
}

func TestFanThatDoesNotStart(t *testing.T) {
	y := begin(t, farm(t, one, cheap, proven, func(s *decide.Settings) { s.Stores[0].StartsPerHour = 0; s.Stores[0].MinRestS = 0 }), noon(t))
	still := proof(seen(20, 12), decide.SeenStill, false)
	y.pass(30*time.Second, still)
	y.want("before the proof is due", decide.Charge, decide.ChargePays)
	began := y.now
	var tries []float64
	for y.now.Before(began.Add(3 * time.Hour)) {
		was := y.d.Stores[0].Running()
		y.pass(0, still)
		if y.d.Stores[0].Running() && !was {
			tries = append(tries, y.now.Sub(began).Seconds())
		}
	}
	// Taken out 30 s after each start; then 1, 5 and 15 minutes to the next.
	want := []float64{70, 70 + 30 + 300, 70 + 30 + 300 + 30 + 900}
	if len(tries) != 3 || tries[0] != want[0] || tries[1] != want[1] || tries[2] != want[2] {
		t.Errorf("tried after %v s, want %v", tries, want)
	}
	y.want("three hours later", decide.Rest, decide.WaitFault)
	if !y.d.Alarms.FanFault || y.st.Stores[0].Fans[0].Fault != decide.DoesNotStart {
		t.Errorf("alarms %+v, fault %v", y.d.Alarms, y.st.Stores[0].Fans[0].Fault)
	}
	clear := still
	clear.ClearFault = true
	y.pass(0, clear)
	y.want("cleared by a person", decide.Charge, decide.ChargePays)
}

func TestFrostProtectionTriesADeadFanEveryHalfHour(t *testing.T) {
	y := begin(t, farm(t, one, proven), night(t))
	still := proof(seen(1, 12), decide.SeenStill, false)
	var tries []time.Time
	for range 6 * 60 * 4 {
		was := y.d.Stores[0].Running()
		y.pass(0, still)
		if y.d.Stores[0].Running() && !was {
			tries = append(tries, y.now)
		}
	}
	if len(tries) < 9 {
		t.Fatalf("%d tries in four hours", len(tries))
	}
	for i := 4; i < len(tries); i++ {
		if gap := tries[i].Sub(tries[i-1]); gap != 30*time.Minute+30*time.Second {
			t.Errorf("%v between tries, want 30 min after 30 s of running", gap)
		}
	}
	if !y.d.Alarms.FrostNoHelp {
		t.Error("nobody is called although the fan stands")
	}
}

func TestFanThatStartsAfterAll(t *testing.T) {
	y := begin(t, farm(t, one, cheap, proven, func(s *decide.Settings) { s.Stores[0].MinRestS = 0; s.Stores[0].StartsPerHour = 0 }), noon(t))
	y.pass(40*time.Second, proof(seen(20, 12), decide.SeenStill, false))
	y.want("taken out", decide.Rest, decide.WaitFault)
	if r := y.d.Stores[0].Reason; r.Have != 60 {
		t.Errorf("next try in %v s, want 60", r.Have)
	}
	y.pass(2*time.Minute, proof(seen(20, 12), decide.SeenRunning, false))
	y.want("it turns", decide.Charge, decide.ChargePays)
	if f := y.st.Stores[0].Fans[0]; f.Fault != decide.NoFault || f.Retries != 0 || y.d.Alarms.FanFault {
		t.Errorf("%+v, alarms %+v", f, y.d.Alarms)
	}
}

// A retry without word from the proof proves nothing.
func TestFaultOutlastsALostProof(t *testing.T) {
	y := begin(t, farm(t, one, cheap, proven, func(s *decide.Settings) { s.Stores[0].MinRestS = 0; s.Stores[0].StartsPerHour = 0 }), noon(t))
	y.pass(40*time.Second, proof(seen(20, 12), decide.SeenStill, false))
	y.pass(5*time.Minute, proof(seen(20, 12), decide.NoProof, false))
	if f := y.st.Stores[0].Fans[0].Fault; f != decide.DoesNotStart {
		t.Errorf("fault %v", f)
	}
}

func TestOneDeadFanIsTakenOutAlone(t *testing.T) {
	y := begin(t, farm(t, one, cheap, manyFans(2), proven), noon(t))
	in := proof(seen(20, 12), decide.SeenStill, false)
	in.Stores[0].Fans[1].Proof = decide.SeenRunning
	y.pass(time.Minute, in)
	y.want("one of two", decide.Charge, decide.ChargePays)
	if got := y.d.Stores[0].Stages; got[0] != 0 || got[1] != 1 {
		t.Errorf("stages %v", got)
	}
	if w := y.d.Stores[0].Waiting.Code; w != decide.WaitFault {
		t.Errorf("waiting for %v", w)
	}
}

// Whether it pays is asked of the fans that turn. 25 °C over 15 °C moves 4.29 kW with each fan
// (heat_test.go); the first fan costs nothing to speak of, the second 3 kW.
func TestDeadFansDoNotEarn(t *testing.T) {
	s := farm(t, seaLevel(0.6, 0.6), manyFans(2), proven, electricity(0.04))
	s.Stores[0].Fans[0].PowerW, s.Stores[0].Fans[1].PowerW = 1, 6000
	st := ready()
	d, _ := decide.Step(s, st, seen(25, 15), noon(t))
	if !d.Stores[0].Running() {
		t.Fatalf("both together: %+v", d.Stores[0].Reason)
	}
	st.Stores[0].Fans[0] = decide.FanState{Fault: decide.DoesNotStart, Retries: 1, RetryS: 100}
	if d, _ = decide.Step(s, st, seen(25, 15), noon(t)); d.Stores[0].Reason.Code != decide.ChargeNotWorth {
		t.Errorf("the costly one alone: %+v", d.Stores[0].Reason)
	}
}

func TestFanThatDoesNotStop(t *testing.T) {
	y := begin(t, farm(t, one, cheap, proven), noon(t))
	y.pass(time.Hour, proof(seen(20, 12), decide.SeenRunning, false))
	y.want("charging", decide.Charge, decide.ChargePays)
	y.pass(30*time.Second, proof(seen(12, 12), decide.SeenRunning, false))
	if y.d.Alarms.FanFault || y.st.Stores[0].Fans[0].HeldS != 20 {
		t.Errorf("coasting for 20 s: alarms %+v, off for %v s", y.d.Alarms, y.st.Stores[0].Fans[0].HeldS)
	}
	y.pass(0, proof(seen(12, 12), decide.SeenRunning, false))
	if y.st.Stores[0].Fans[0].Fault != decide.StuckOn || !y.d.Alarms.FanFault {
		t.Errorf("after 30 s: fault %v", y.st.Stores[0].Fans[0].Fault)
	}
}

// The thermostat beside the relay is set to -1 °C and lets go up to 3 K higher.
func TestAFanThatItsOwnThermostatRuns(t *testing.T) {
	for _, c := range []struct {
		name   string
		none   bool // there is no such thermostat
		air    unit.Celsius
		lost   bool // no air is read
		seen   decide.Proof
		hand   decide.Contact
		stage  uint8
		heldS  float64
		before decide.Fault
		was    bool
		want   decide.Fault
		is     bool
	}{
		{name: "so cold that it may", air: -2, seen: decide.SeenRunning, heldS: 100, is: true},
		{name: "just so cold that it may", air: 2, seen: decide.SeenRunning, heldS: 100, is: true},
		{name: "too warm for it", air: 2.01, seen: decide.SeenRunning, heldS: 100, want: decide.StuckOn},
		{name: "it has warmed up and the fan still runs", air: 2.01, seen: decide.SeenRunning, heldS: 100, was: true, want: decide.StuckOn},
		{name: "cold, and there is no thermostat", none: true, air: -2, seen: decide.SeenRunning, heldS: 100, want: decide.StuckOn},
		{name: "no air is read", lost: true, seen: decide.SeenRunning, heldS: 100, want: decide.StuckOn},
		{name: "coasting", air: -2, seen: decide.SeenRunning, heldS: 19.9},
		{name: "it has stopped", air: -2, seen: decide.SeenStill, heldS: 100, was: true},
		{name: "its proof is lost", air: -2, seen: decide.NoProof, heldS: 100, was: true},
		{name: "the panel switch runs it", air: -2, seen: decide.SeenRunning, hand: decide.On, heldS: 100, was: true},
		{name: "taken for stuck while it was warmer", air: 2, seen: decide.SeenRunning, heldS: 100, before: decide.StuckOn, is: true},
		{name: "one whose relay is dead", air: -2, seen: decide.SeenRunning, heldS: 100, before: decide.DoesNotStart, want: decide.DoesNotStart, is: true},
		{name: "commanded on", air: -2, seen: decide.SeenRunning, stage: 1, heldS: 100, was: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := farm(t, one, cheap, proven, func(s *decide.Settings) {
				s.Policies[0].Crop = false // frost protection would run the fan itself
				s.Stores[0].Fans[0].Backup, s.Stores[0].Fans[0].BackupAt = !c.none, -1
			})
			st := ready()
			st.Stores[0].Fans[0] = decide.FanState{Stage: c.stage, HeldS: c.heldS, Fault: c.before, ByBackup: c.was, RetryS: 500}
			in := proof(seen(c.air, -4), c.seen, false)
			in.Stores[0].HandSwitch = c.hand
			if c.lost {
				in.CropAir, in.CropLow, in.IntakeAir = decide.Temperature{}, decide.Temperature{}, decide.Temperature{}
			}
			d, st := decide.Step(s, st, in, noon(t))
			if f := st.Stores[0].Fans[0]; f.Fault != c.want || f.ByBackup != c.is {
				t.Errorf("fault %v, by its thermostat %v; want %v, %v", f.Fault, f.ByBackup, c.want, c.is)
			}
			if alarm := c.want == decide.StuckOn || c.want == decide.DoesNotStart; d.Alarms.FanFault != alarm {
				t.Errorf("alarm %v, want %v", d.Alarms.FanFault, alarm)
			}
		})
	}
}

func TestFanFaultsByWhatIsSeen(t *testing.T) {
	for _, c := range []struct {
		name   string
		before decide.FanState
		seen   decide.Proof
		weak   bool
		hand   decide.Contact
		noTest bool // no proof is wired
		air    unit.Celsius
		want   decide.Fault
		stage  uint8
	}{
		{name: "running and seen running", before: decide.FanState{Stage: 1, HeldS: 100}, seen: decide.SeenRunning, air: 20, stage: 1},
		{name: "running, seen still, the proof not yet due", before: decide.FanState{Stage: 1, HeldS: 19.9}, seen: decide.SeenStill, air: 20, stage: 1},
		{name: "running, seen still, the proof due", before: decide.FanState{Stage: 1, HeldS: 20}, seen: decide.SeenStill, air: 20, want: decide.DoesNotStart},
		{name: "running, seen still, no proof wired", before: decide.FanState{Stage: 1, HeldS: 100}, seen: decide.SeenStill, noTest: true, air: 20, stage: 1},
		{name: "weak keeps running", before: decide.FanState{Stage: 1, HeldS: 100}, seen: decide.SeenRunning, weak: true, air: 20, want: decide.Weak, stage: 1},
		{name: "weak stays weak", before: decide.FanState{Stage: 1, HeldS: 100, Fault: decide.Weak}, seen: decide.SeenRunning, weak: true, air: 20, want: decide.Weak, stage: 1},
		{name: "weak and seen still does not start", before: decide.FanState{Stage: 1, HeldS: 100}, seen: decide.SeenStill, weak: true, air: 20, want: decide.DoesNotStart},
		{name: "weak recovers", before: decide.FanState{Stage: 1, HeldS: 100, Fault: decide.Weak}, seen: decide.SeenRunning, air: 20, stage: 1},
		{name: "weak is forgotten at rest", before: decide.FanState{HeldS: 100, Fault: decide.Weak}, seen: decide.SeenStill, air: 13},
		{name: "off and seen running is stuck on", before: decide.FanState{HeldS: 100}, seen: decide.SeenRunning, air: 13, want: decide.StuckOn},
		{name: "off and seen running, coasting", before: decide.FanState{HeldS: 19.9}, seen: decide.SeenRunning, air: 13},
		{name: "off and seen running by the panel switch", before: decide.FanState{HeldS: 100}, seen: decide.SeenRunning, hand: decide.On, air: 13},
		{name: "stuck on and seen still is mended", before: decide.FanState{HeldS: 100, Fault: decide.StuckOn}, seen: decide.SeenStill, air: 13},
		{name: "stuck on and not seen stays", before: decide.FanState{HeldS: 100, Fault: decide.StuckOn}, seen: decide.NoProof, air: 13, want: decide.StuckOn},
		{name: "stuck on and the panel switch explains it", before: decide.FanState{HeldS: 100, Fault: decide.StuckOn}, seen: decide.SeenRunning, hand: decide.On, air: 13},
		{name: "stuck on and then commanded on", before: decide.FanState{Stage: 1, HeldS: 100, Fault: decide.StuckOn}, seen: decide.SeenRunning, air: 20, stage: 1},
		{name: "dead and at rest stays dead", before: decide.FanState{HeldS: 100, Fault: decide.DoesNotStart, RetryS: 500}, seen: decide.SeenStill, air: 13, want: decide.DoesNotStart},
		{name: "dead and seen running again", before: decide.FanState{Stage: 1, HeldS: 100, Fault: decide.DoesNotStart}, seen: decide.SeenRunning, air: 20, stage: 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := farm(t, one, cheap, proven)
			if c.noTest {
				s.Stores[0].Fans[0].ProofS = 0
			}
			st := ready()
			if c.before.Stage > 0 {
				st.Stores[0] = ran(decide.Charge, 3600)
			}
			st.Stores[0].Fans[0] = c.before
			in := proof(seen(c.air, 12), c.seen, c.weak)
			in.Stores[0].HandSwitch = c.hand
			d, st := decide.Step(s, st, in, noon(t))
			if got := st.Stores[0].Fans[0].Fault; got != c.want {
				t.Errorf("fault %v, want %v", got, c.want)
			}
			if d.Stores[0].Stages[0] != c.stage {
				t.Errorf("stage %d, want %d", d.Stores[0].Stages[0], c.stage)
			}
			if alarm := c.want == decide.DoesNotStart || c.want == decide.StuckOn; d.Alarms.FanFault != alarm {
				t.Errorf("alarm %v, want %v", d.Alarms.FanFault, alarm)
			}
		})
	}
}

// A fan that is told to go faster draws too little for a while: until the proof is due at its new
// speed that is not weak, nor does it mend what was weak before.
func TestAFanIsNotWeakWhileItTurnsUp(t *testing.T) {
	for _, c := range []struct {
		name   string
		stageS float64 // at this speed before a step of 10 s; the proof takes 30 s
		before decide.Fault
		want   decide.Fault
	}{
		{"turning up", 19.9, decide.NoFault, decide.NoFault},
		{"turned up", 20, decide.NoFault, decide.Weak},
		{"turning up and weak before", 19.9, decide.Weak, decide.Weak},
		{"dead before", 19.9, decide.DoesNotStart, decide.DoesNotStart},
	} {
		t.Run(c.name, func(t *testing.T) {
			st := ready()
			st.Stores[0] = ran(decide.Charge, 3600)
			st.Stores[0].StageS = c.stageS
			st.Stores[0].Fans[0].Fault = c.before
			_, st = decide.Step(farm(t, one, cheap, proven), st, proof(seen(20, 12), decide.SeenRunning, true), noon(t))
			if got := st.Stores[0].Fans[0].Fault; got != c.want {
				t.Errorf("fault %v, want %v", got, c.want)
			}
		})
	}
}
