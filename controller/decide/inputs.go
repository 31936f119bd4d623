package decide

import (
	"fmt"

	"loambank/config/unit"
	"loambank/controller/judge"
)

// Inputs is what one tick knows of one house. Every field's zero value is "not known", which is
// never an error.
type Inputs struct {
	StepS    float64 // monotonic seconds since the last Step
	Believed bool    // the wall clock is believed

	CropLow   Temperature // lowest usable crop air, good or doubtful: frost protection
	CropAir   Temperature // crop air by the vote of its probes: setpoint and floors
	IntakeAir Temperature // air the fans take in; crop air where no probe sits there
	Outside   Temperature
	Humidity  Fraction // relative, 0 to 1

	HeaterOn    Contact
	VentOpen    Contact
	Smoke       Contact
	OnGenerator Contact

	Stores [MaxStores]StoreInputs

	Grant      Grant // the board's answer to the last tick's wishes
	ClearFault bool  // a person cleared the latched faults of this house
}

// StoreInputs is what one tick knows of one store.
type StoreInputs struct {
	Soil    judge.Carried // between the pipes, carried on where its probes are lost
	RootMax Temperature   // hottest root or store soil: the cap
	RootMin Temperature   // coldest root soil: the floor

	DuctIn  Temperature // air on its way into the pipes
	DuctOut Temperature // and where it leaves them

	PipeWater  Contact
	HandSwitch Contact

	Order Order // a hand order given since the last tick
	Fans  [MaxFans]Feedback
}

// Temperature is a judged temperature.
type Temperature struct {
	C       unit.Celsius
	Quality judge.Quality
}

// Fraction is a judged share, 0 to 1.
type Fraction struct {
	V       float64
	Quality judge.Quality
}

// Contact is a judged on/off probe. The zero value is unknown.
type Contact uint8

// The closed list of contact states, the one that matters most last: of several contacts the
// highest counts.
const (
	Unknown Contact = iota
	Off
	Lost // there is such a probe and it does not answer
	On
)

// Grant is what the board lets this house do in this tick: the zero value lets it do all.
type Grant struct {
	Limited bool    // PowerW holds
	PowerW  float64 // all fans of this house together, W
	Closed  bool    // no start in this tick: another house is starting
}

// Feedback is what is known of one fan besides the command it was given.
type Feedback struct {
	Proof Proof
	Weak  bool // it runs but moves or draws too little
	Down  bool // its device does not take orders; it comes back by itself

	PowerKnown bool
	PowerW     float64 // what it draws, or its share of what its store's fans draw, W; not negative
}

// Proof says whether a fan is seen running. The zero value is "nothing is wired to tell".
type Proof uint8

// The closed list of proofs.
const (
	NoProof Proof = iota
	SeenRunning
	SeenStill
)

// Order is a person's order for one store. The zero value is no new order.
type Order struct {
	Kind  OrderKind
	Stage uint8   // of OrderRun; 0 is full
	Fan   uint8   // of OrderRun: that fan alone, 1 is the store's first; 0 is all of them
	ForS  float64 // time it holds, s
}

// OrderKind is the closed list of hand orders.
type OrderKind uint8

// The hand orders.
const (
	NoOrder OrderKind = iota
	OrderAuto
	OrderRun
	OrderOff
)

// String is the order in words, as a journal keeps it.
func (o Order) String() string {
	switch o.Kind {
	case OrderAuto:
		return "auto"
	case OrderRun:
		return fmt.Sprintf("run at stage %d for %.0f s", o.Stage, o.ForS)
	case OrderOff:
		return fmt.Sprintf("off for %.0f s", o.ForS)
	}
	return "no order"
}
