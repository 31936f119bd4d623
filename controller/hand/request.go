package hand

import (
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"loambank/controller/commission"
)

// What a person can ask for.
const (
	Run   = "run"   // run the fans
	Off   = "off"   // keep them off
	Auto  = "auto"  // let the program decide again
	Clear = "clear" // clear latched faults and smoke
	Low   = "low"   // tell how cold tonight will get
	Quiet = "quiet" // acknowledge what the bell sounds for
	Clock = "clock" // believe the clock, which was set by hand
	Look  = "look"  // show the house as its last tick saw it
	Round = "round" // keep a commissioning round, or show those that are kept
)

// Limits on how long an order holds.
const (
	MaxRun   = 12 * time.Hour
	MaxOff   = 4 * time.Hour // longer must be asked for twice
	LongOff  = 30 * 24 * time.Hour
	MaxStage = 100
)

// Request is one order.
type Request struct {
	Schema int    `json:"schema"` // 1
	Do     string `json:"do"`     // one of the words above
	House  string `json:"house"`  // not needed for Quiet and Clock
	Store  string `json:"store,omitempty"`
	Fan    string `json:"fan,omitempty"`   // of Run, with its store: it alone, the others of the store off
	Stage  int    `json:"stage,omitempty"` // of Run; 0 is full speed
	ForS   int64  `json:"for_s,omitempty"` // of Run and Off
	Long   bool   `json:"long,omitempty"`  // Off for more than MaxOff is meant
	// LowC is the outside temperature expected tonight, °C; of Low. It holds until the next noon.
	LowC *float64 `json:"low_c,omitempty"`
	// Round is the one to keep; of Round, nil asks for those that are kept.
	Round *commission.Baseline `json:"round,omitempty"`
}

// Answer is what the daemon says.
type Answer struct {
	Schema int    `json:"schema"`
	Error  string `json:"error,omitempty"` // why nothing was done
	Text   string `json:"text,omitempty"`  // what the house does now

	Look  *commission.Look     `json:"look,omitempty"`  // of Look
	Whole *commission.Baseline `json:"whole,omitempty"` // of Round: the newest that is complete
	Begun *commission.Baseline `json:"begun,omitempty"` // of Round: one begun since, not complete
}

// Check says what is wrong with a request, before anything is done about it.
func (r *Request) Check() error {
	switch {
	case r.Schema != 1:
		return fmt.Errorf("this loambank speaks schema 1, the request is of schema %d; use the same version for both", r.Schema)
	case r.Do == Quiet, r.Do == Clock:
		return nil
	case r.House == "":
		return errors.New("no house is named; write --house NAME")
	case r.Stage < 0 || r.Stage > MaxStage || r.Stage > 0 && r.Do != Run:
		return errors.New("a stage goes with run, and is 1 for the slowest speed and so on")
	case r.Fan != "" && (r.Do != Run || r.Store == ""):
		return errors.New("one fan alone goes with run and with its store; write --store NAME --fan NAME run")
	}
	return r.checkTime()
}

func (r *Request) checkTime() error {
	d := time.Duration(r.ForS) * time.Second
	switch r.Do {
	case Low:
		if r.LowC == nil || !(*r.LowC >= -60 && *r.LowC <= 40) {
			return errors.New("an expected low is an outside temperature of −60 to 40 °C, −76 to 104 °F")
		}
	case Look:
	case Round:
		if r.Round != nil && r.Round.House != r.House {
			return fmt.Errorf("the round is of house %q, the request of %q; keep it under its own", r.Round.House, r.House)
		}
	case Auto, Clear:
		if r.ForS != 0 {
			return fmt.Errorf("%s holds until further notice; leave out --for", r.Do)
		}
	case Run:
		if r.ForS <= 0 || r.ForS > int64(MaxRun/time.Second) {
			return errors.New("run needs a time of 1 s to 12 h; write --for 45m")
		}
	case Off:
		switch {
		case r.ForS <= 0 || r.ForS > int64(LongOff/time.Second):
			return errors.New("off needs a time of 1 s to 4 h, or with --long to 30 days; write --for 45m")
		case d > MaxOff && !r.Long:
			return errors.New("fans that stay off for more than 4 h do not save a crop; write --long if that is meant")
		}
	default:
		return fmt.Errorf("%.20q is no order; write run, off or auto", r.Do)
	}
	return nil
}

// SocketPath is where the socket stands in a state directory.
func SocketPath(dir string) string { return filepath.Join(dir, "hand.sock") }
