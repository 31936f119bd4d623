package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"loambank/controller"
)

type clockCommand struct {
	Tell string `help:"Wait until the clock is set, then make this file, which tells the daemon so." placeholder:"FILE"`
}

// Help shows an example.
func (clockCommand) Help() string {
	return "Example:\n\n  loambank clock\n\n" +
		"Exits with 1 where no time service has set the clock since the board started, or has lost it for\n" +
		"hours. The daemon's unit may not ask the kernel: loambank-clock.service does, and leaves\n" +
		controller.ClockToldFile + " for it."
}

// Run answers, or waits for the answer.
func (c *clockCommand) Run(w *world) error {
	if c.Tell != "" {
		return tellClock(w.ctx, c.Tell, controller.ClockIsSet)
	}
	set, err := controller.ClockIsSet()
	if err != nil {
		return err
	}
	return sayClock(w.stdout, set, time.Now())
}

func sayClock(to io.Writer, set bool, now time.Time) error {
	if !set {
		return answerNo{errors.New("no time service has set the clock; connect the board to one, or set it with date --set and say so with loambank hand --believe-clock")}
	}
	_, err := fmt.Fprintf(to, "a time service has set the clock: it is %s UTC\n", now.UTC().Format(time.DateTime))
	return err
}

// askEvery is the time between two questions whether the clock is set.
const askEvery = 5 * time.Second

// tellClock makes a file once the clock is set. It is an error where that cannot be asked or told, and
// where ctx ends before.
func tellClock(ctx context.Context, file string, set func() (bool, error)) error {
	again := time.NewTicker(askEvery)
	defer again.Stop()
	for {
		is, err := set()
		if err != nil {
			return err
		}
		if is {
			return os.WriteFile(file, nil, 0o644)
		}
		select {
		case <-again.C:
		case <-ctx.Done():
			return errors.New("stopped before the clock was set")
		}
	}
}
