package decide

import "loambank/config/unit"

// retryS is after which times a fan that does not start is tried again, s; later tries follow
// each other by the last, and only while frost protection wants the fan.
var retryS = [...]float64{60, 300, 900, 1800}

// lastRetry is the number of tries before only frost protection tries on.
const lastRetry = 3

// faults compares each fan's command with what is seen of it.
func (t *tick) faults(i int) {
	for j := range t.s.Stores[i].Fans {
		f, seen := &t.st.Stores[i].Fans[j], t.in.Stores[i].Fans[j]
		if t.in.ClearFault {
			f.Fault, f.Retries, f.RetryS = NoFault, 0, 0
		}
		proof := t.s.Stores[i].Fans[j].ProofS
		due := proof > 0 && f.HeldS >= proof
		byHand := t.in.Stores[i].HandSwitch == On
		f.ByBackup = due && f.Stage == 0 && seen.Proof == SeenRunning && !byHand && t.backedUp(&t.s.Stores[i].Fans[j])
		switch {
		case !due:
		case f.Stage > 0:
			f.judgeRunning(seen, t.st.Stores[i].StageS >= proof)
		default:
			f.judgeResting(seen.Proof, byHand || f.ByBackup)
		}
	}
}

// judgeResting judges a fan that has been commanded off for longer than its proof takes. Another may
// have asked it to run: the panel switch or its own thermostat.
func (f *FanState) judgeResting(seen Proof, asked bool) {
	switch {
	case seen == SeenRunning && !asked:
		f.Fault = StuckOn
	case f.Fault == StuckOn && (seen == SeenStill || asked), f.Fault == Weak:
		f.Fault = NoFault
	}
}

// backupBand is how far over its setting a frost thermostat may still run a fan: it lets go some
// degrees higher, and hangs elsewhere than the probes. Common practice, no source.
const backupBand unit.Kelvin = 3

// backedUp reports whether the crop's air is so cold that the fan's own thermostat may run it. Where
// no air is read nobody can say.
func (t *tick) backedUp(f *Fan) bool {
	return f.Backup && t.airKnown && t.low <= f.BackupAt.Add(backupBand)
}

// judgeRunning judges a fan that has been commanded on for longer than its proof takes. Until it
// has been at its speed for as long, settled, too little is not yet weak.
func (f *FanState) judgeRunning(seen Feedback, settled bool) {
	switch {
	case seen.Proof == SeenStill:
		f.Fault = DoesNotStart
		f.RetryS = retryS[min(int(f.Retries), len(retryS)-1)]
		f.Retries = min(f.Retries+1, 100)
		f.Stage, f.HeldS = 0, 0
	case seen.Weak && settled:
		f.Fault = Weak
	case seen.Weak:
	case f.Fault == Weak, f.Fault == StuckOn, f.Fault == DoesNotStart && seen.Proof == SeenRunning:
		f.Fault, f.Retries = NoFault, 0
	}
}
