package main

import (
	"errors"
	"fmt"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/hand"
)

type handCommand struct {
	Do         string        `arg:"" optional:"" enum:"run,off,auto," help:"run, off or auto." default:""`
	House      string        `help:"The house."`
	Store      string        `help:"One store of it; without it all of them."`
	Fan        string        `help:"Run one fan of the store alone, the others off. Frost protection runs them all the same."`
	Stage      int           `help:"Speed to run at, 1 is the slowest; without it full speed."`
	For        time.Duration `help:"How long it holds, such as 45m or 2h30m."`
	Long       bool          `help:"Off for more than 4 hours is meant."`
	ExpectLow  string        `help:"How cold it will get outside tonight, such as '14 °F'; holds until noon." placeholder:"TEMPERATURE"`
	ClearFault bool          `help:"Clear the house's latched faults and smoke."`
	Quiet      bool          `help:"Acknowledge what the bell sounds for."`
	Believe    bool          `name:"believe-clock" help:"The board's clock was set by hand and is right."`
	Config     string        `help:"Settings file of the running daemon." default:"/etc/loambank/farm.toml"`
}

// Help shows an example.
func (handCommand) Help() string {
	return "Examples:\n\n  loambank hand --house lower run --for 45m\n" +
		"  loambank hand --house lower --store beds off --for 2h\n  loambank hand --house lower auto\n" +
		"  loambank hand --house lower --clear-fault\n  loambank hand --house lower --expect-low '14 °F'\n\n" +
		"Gives the running daemon a person's order, over a socket in its state directory. An interlock\n" +
		"that holds the fans wins over any order. An order outlasts a restart until its time is over.\n\n" +
		"--believe-clock is for a board without network and battery clock, once its time was set by hand:\n" +
		"until then every window is open, at the base price. It holds until the daemon ends."
}

// Run gives the order.
func (c *handCommand) Run(w *world) error {
	r := hand.Request{House: c.House, Store: c.Store, Fan: c.Fan, Stage: c.Stage, ForS: int64(c.For / time.Second), Long: c.Long}
	asked := 0
	for word, is := range map[string]bool{c.Do: c.Do != "", hand.Clear: c.ClearFault, hand.Quiet: c.Quiet, hand.Clock: c.Believe, hand.Low: c.ExpectLow != ""} {
		if is {
			r.Do = word
			asked++
		}
	}
	if asked != 1 {
		return usage{errors.New("give one order: run, off, auto, --clear-fault, --quiet, --expect-low or --believe-clock")}
	}
	if c.ExpectLow != "" {
		low, err := unit.ParseTemperature(c.ExpectLow)
		if err != nil {
			return usage{err}
		}
		lowC := float64(low)
		r.LowC = &lowC
	}
	answer, err := hand.Ask(w.ctx, hand.SocketPath(c.stateDir(w)), r)
	if errors.Is(err, hand.ErrNo) {
		return answerNo{err}
	}
	if err != nil {
		return err
	}
	fmt.Fprintln(w.stdout, answer.Text)
	return nil
}

// stateDir is the state directory of the settings; those that do not load may be running still.
func (c *handCommand) stateDir(w *world) string {
	if s, err := config.Load(c.Config, w.environ); err == nil {
		return s.StateDir
	}
	return stateDir(w.environ)
}
