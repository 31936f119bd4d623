package decide

import (
	"loambank/config/unit"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// State is all that Step remembers from tick to tick: plain data that survives JSON. The zero
// value is a house never decided before, all fans off. Times are monotonic seconds summed from
// Inputs.StepS; those that count down are free at 0.
type State struct {
	Stores [MaxStores]StoreState
	Slot   Slot

	AirLostS    float64 // since the last usable air reading
	HeaterWaitS float64 // until charging may follow the heater
	StaggerS    float64 // until the next start in this house
	Smoke       bool    // latched until a person clears it
	LastUnix    int64   // wall time of the last Step, s
	// Fired is when each calendar action last fired, wall time in s: a clock set back does not
	// fire it again.
	Fired [MaxActions]int64
	Low   Low
}

// Low is the lowest usable crop air since the last sunset.
type Low struct {
	C     unit.Celsius
	Unix  int64
	Since int64 // the sunset it is counted from; 0 is not counted yet
	Known bool
}

// StoreState is what Step remembers of one store.
type StoreState struct {
	Doing Activity
	RunS  float64 // since the first of its fans started; 0 while all are off
	RestS float64 // since the last of its fans stopped; 0 while one runs

	Stage  uint8   // common speed of its fans, 0 is off
	StageS float64 // since Stage was chosen

	Order      OrderKind // the hand order in force
	OrderStage uint8
	OrderFan   uint8 // the one fan that it runs, 1 is the first; 0 is all
	OrderLeftS float64

	Action     int8    // index into Settings.Actions plus one; 0 is none due
	ActionRunS float64 // run time left
	ActionDueS float64 // time left in which it may still start

	DryS    float64 // dried today
	DryUnix int64   // the local midnight DryS counts from

	// Learned changes once a day, between two ticks, and never in Step.
	Learned Learned

	Fans [MaxFans]FanState
}

// Learned is what a store's pipes were found to do, for decisions to reckon with. The zero value is
// that it is not learned yet.
type Learned struct {
	FlowM3s float64 // with all its fans at full speed, moist air at the intake
	NTU     float64 // transfer units there, against the pipes' wall
	NearKW  float64 // how much warmer the wall gets for each W that stays there, once it has settled
	// FilmNTU is the transfer units of the air's film alone, which tell where water condenses
	// (physics.ExchangeTo); under NTU they count as NTU.
	FilmNTU float64
}

// Known reports whether the exchange is learned.
func (l Learned) Known() bool { return l.FlowM3s > 0 && l.NTU > 0 }

// FanState is what Step remembers of one fan.
type FanState struct {
	Stage      uint8
	HeldS      float64 // since it was last switched on or off
	StartWaitS float64 // until it may start again within its starts per hour
	Fault      Fault
	Retries    uint8
	RetryS     float64 // until the next try of a fan that does not start
	ByBackup   bool    // commanded off, and seen running by its own frost thermostat
}

// Fault is what is wrong with a fan. The zero value is nothing.
type Fault uint8

// The closed list of fan faults.
const (
	NoFault      Fault = iota
	DoesNotStart       // commanded on, seen still: taken out, retried
	Weak               // runs but moves or draws too little: goes on, warned of
	StuckOn            // commanded off, seen running
)

// Sun is when the sun rises and sets on a local day, and set on the day before: wall time in s. The
// zero value is not known.
type Sun struct {
	Known                bool
	Polar                season.Polar
	Rise, Set, SetBefore int64
}

// Slot holds the calendar's answers for a stretch of wall time, so that the steady path does not
// ask again. Its zero value holds for no time.
type Slot struct {
	From, Until int64 // wall time in s; the answers hold from From up to Until
	Believed    bool
	Window      int8 // -1 where none covers
	Night, Cold bool
	Midnight    int64 // start of this local day
	Sunset      int64 // the last one before Until; 0 where the sun does not set
	Sun         Sun   // of this local day
	Prices      tariff.Prices
}
