package judge

// Settings is what one probe may honestly say. Defaults fills it in; every field may be changed.
type Settings struct {
	Role   Role
	Place  Place
	DepthM float64 // of a soil probe, m; 0 is not stated

	Min, Max float64 // readings outside are bad; in the role's unit, both included

	StaleS float64 // silence after which it is bad, s; 0: never

	// A probe that stays within StuckBand of one value for longer than StuckS is doubtful, never
	// bad: melting snow does hold air at 0.0 °C. StuckS 0: never.
	StuckS    float64
	StuckBand float64

	// A step larger than JumpBand + JumpPerS × seconds since the last accepted reading is
	// doubtful until it is confirmed. JumpBand 0: never.
	JumpBand float64
	JumpPerS float64

	// Recover is how many good readings in a row lift a bad probe to good, and confirm a jump;
	// 0 counts as 1.
	Recover int

	// ErrorK is the probe's own error, in the role's unit. Probe does not use it: it says how
	// far two probes of one place may honestly differ, which is what Vote's agree is made from.
	ErrorK float64
}

// shallowM parts soil that the day and the hose reach from soil that they do not, m. The daily
// wave is down to a tenth there (damping depth 0.117 m at 0.5 mm²/s, ground_wave-S001).
const shallowM = 0.3

// stillAir is how little air moves when it is not moving, K: one count of 1/16 K or one printed
// tenth is none, two are.
const stillAir = 0.12

const (
	minuteS = 60.0
	hourS   = 3600.0
	dayS    = 86400.0
)

// Defaults returns the settings of a probe of this role, place and depth, m (0: not stated).
// Ranges are what a hoop house, its soil and the climate can be with room to spare; the other
// limits are common practice without a source, set so that two recorded winters of a tunnel and
// six years of deep soil pass (see the tests).
func Defaults(role Role, place Place, depthM float64) Settings {
	s := Settings{Role: role, Place: place, DepthM: depthM, StaleS: 5 * minuteS, Recover: 3}
	switch role {
	case Air:
		s.Min, s.Max = -50, 70
		s.StuckS, s.StuckBand = 6*hourS, stillAir
		s.JumpBand, s.JumpPerS = 5, 0.01
		s.ErrorK = 0.5
	case Humidity:
		s.Min, s.Max = 0, 1
		s.StuckS, s.StuckBand = 12*hourS, 0.005
		s.JumpBand, s.JumpPerS = 0.4, 0.0005
		s.ErrorK = 0.03
	case Soil:
		soilDefaults(&s)
	case DuctIn, DuctOut:
		// The duct stands at another temperature until the fan starts, then follows in seconds.
		s.Min, s.Max = -40, 80
		s.JumpBand, s.JumpPerS = 10, 0.05
		s.ErrorK = 0.5
	case Outside:
		s.Min, s.Max = -60, 60
		s.StaleS = 30 * minuteS
		s.StuckS, s.StuckBand = 12*hourS, stillAir
		s.JumpBand, s.JumpPerS = 5, 0.01
		s.ErrorK = 0.5
	case FanPower:
		s.Min, s.Max = 0, 100e3
	case Radon:
		s.Min, s.Max = 0, 1e6
		s.StaleS = 6 * hourS
	case CO2:
		// A CO₂ probe that has not measured yet says 0, which air never is.
		s.Min, s.Max = 1, 40e3
		s.StaleS = 30 * minuteS
	case Light:
		s.Min, s.Max = 0, 200e3
	default:
		// A contact: what it says holds at once, so that smoke is never asked three times.
		s.Min, s.Max = 0, 1
		s.StaleS = minuteS
		s.Recover = 1
	}
	return s
}

func soilDefaults(s *Settings) {
	s.Min, s.Max = -30, 60
	s.StaleS = 30 * minuteS
	s.StuckBand = 0.03 // under half a count of 1/16 K: any count is movement
	s.ErrorK = 0.5
	if s.shallow() {
		s.StuckS = 3 * dayS
		s.JumpBand, s.JumpPerS = 1, 0.002
		return
	}
	// Twice the longest time that 50 and 100 cm deep soil stood still in ten recorded years.
	s.StuckS = 21 * dayS
	s.JumpBand, s.JumpPerS = 1, 0.0005
}

func (s *Settings) shallow() bool {
	if s.DepthM > 0 {
		return s.DepthM < shallowM
	}
	return s.Place == Root || s.Place == NoPlace
}
