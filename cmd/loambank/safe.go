package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/drivers"
)

type safeCommand struct {
	Config string `help:"Settings file." default:"/etc/loambank/farm.toml"`
}

// Help shows an example.
func (safeCommand) Help() string {
	return "Example:\n\n  loambank safe --config farm.toml\n\n" +
		"Puts every fan of the settings off and checks that it is: for ExecStopPost, after a daemon\n" +
		"that was killed. Uses the last settings that worked where the given ones do not load."
}

// safeTimeout bounds one fan.
const safeTimeout = 2 * time.Second

// Run puts every fan off.
func (c *safeCommand) Run(w *world) error {
	s, err := load(w, c.Config)
	if err != nil {
		fmt.Fprintln(w.stderr, err)
		if s, err = lastGood(w); err != nil {
			return err
		}
	}
	var faults []error
	off := 0
	for i := range s.Houses {
		for _, fans := range s.Houses[i].Fans {
			for _, stanza := range fans {
				if stanza.Driver == "model" {
					continue // there is nothing to put off
				}
				if err := putOff(w.ctx, stanza); err != nil {
					faults = append(faults, err)
					continue
				}
				off++
			}
		}
	}
	fmt.Fprintf(w.stdout, "%d fans off\n", off)
	return errors.Join(faults...)
}

func putOff(ctx context.Context, s drivers.Stanza) error {
	ctx, cancel := context.WithTimeout(ctx, safeTimeout)
	defer cancel()
	fan, err := drivers.OpenFan(ctx, s) // opening puts it off
	if err != nil {
		return err
	}
	return fan.Close()
}

// lastGood loads the settings that last worked. Where they are, the environment or the default
// says: the settings that would have do not load.
func lastGood(w *world) (*config.Settings, error) {
	path := controller.LastGoodPath(stateDir(w.environ))
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("there are no last good settings either: %w", err)
	}
	fmt.Fprintf(w.stderr, "using the last good settings, %s\n", path)
	return load(w, path)
}

// stateDir is the state directory of whoever does not know better.
func stateDir(environ []string) string {
	for _, pair := range environ {
		if dir, ok := strings.CutPrefix(pair, "LOAMBANK_STATE_DIR="); ok && dir != "" {
			return dir
		}
	}
	return config.DefaultStateDir
}
