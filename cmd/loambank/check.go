package main

import (
	"errors"

	"loambank/config"
)

type checkCommand struct {
	File   string `arg:"" help:"Settings file, such as farm.toml."`
	Wiring bool   `help:"Print pins, buses and addresses instead, and who is there."`
}

// Help shows an example.
func (checkCommand) Help() string {
	return "Example:\n\n  loambank check farm.toml\n  loambank check --wiring farm.toml\n\n" +
		"Prints the settings in force with defaults marked, the year as a strip of windows, and\n" +
		"warnings. Exits with 1 where the file has faults."
}

// Run checks a settings file.
func (c *checkCommand) Run(w *world) error {
	s, err := load(w, c.File)
	if err != nil {
		return err
	}
	if c.Wiring {
		if printWiring(w.stdout, s) > 0 {
			return answerNo{errors.New("")}
		}
		return nil
	}
	return s.Print(w.stdout, width(w.stdout))
}

// load reads a settings file; its faults are an answer, a file that cannot be read is not.
func load(w *world, path string) (*config.Settings, error) {
	s, err := config.Load(path, w.environ)
	if faults := config.Faults(nil); errors.As(err, &faults) {
		return nil, answerNo{faults}
	}
	return s, err
}
