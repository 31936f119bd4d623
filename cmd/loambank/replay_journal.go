package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/replay"
)

// comparedJSON is what `replay --journal --json` writes of each house, one object a line.
type comparedJSON struct {
	Schema  int         `json:"schema"`
	Kind    string      `json:"kind"` // "journal"
	House   string      `json:"house"`
	First   time.Time   `json:"first"`
	Last    time.Time   `json:"last"`
	Ticks   int64       `json:"ticks"`
	Passed  int64       `json:"ticks_not_replayable"`
	Gaps    int64       `json:"gaps"`
	Differ  int64       `json:"ticks_that_differ"`
	Differs []time.Time `json:"first_differences,omitempty"`
}

// compare replays the journal of a state directory.
func (c *replayCommand) compare(w *world) error {
	if c.From != "" || c.Until != "" {
		if _, err := time.LoadLocation(c.Zone); err != nil {
			return fmt.Errorf("--zone %q is not a zone; write one such as America/New_York", c.Zone)
		}
	}
	zone, err := time.LoadLocation(c.Zone) // UTC where none is given
	if err != nil {
		return fmt.Errorf("--zone %q is not a zone; write one such as America/New_York", c.Zone)
	}
	from, err := moment(c.From, zone, "--from")
	if err != nil {
		return err
	}
	until, err := moment(c.Until, zone, "--until")
	if err != nil {
		return err
	}
	if until.IsZero() {
		until = time.Unix(1<<40, 0)
	}
	r, err := history.OpenReader(c.Journal)
	if err != nil {
		return fmt.Errorf("%s: %w", c.Journal, err)
	}
	defer r.Close()
	differ, ticks := int64(0), int64(0)
	for _, name := range r.Houses() {
		sum, err := replay.CompareJournal(r, name, from, until)
		if err != nil {
			return err
		}
		differ += sum.Differ
		ticks += sum.Ticks
		if err := c.printCompared(w, sum); err != nil {
			return err
		}
	}
	switch {
	case differ > 0:
		return answerNo{fmt.Errorf("%d of %d decisions differ from those that were taken", differ, ticks)}
	case ticks == 0:
		return answerNo{errors.New("nothing in the journal could be replayed in the time asked for")}
	}
	return nil
}

func (c *replayCommand) printCompared(w *world, sum *replay.Compared) error {
	if c.JSON {
		out := comparedJSON{
			Schema: schema, Kind: "journal", House: sum.House, First: sum.First, Last: sum.Last, Ticks: sum.Ticks,
			Passed: sum.Passed, Gaps: sum.Gaps, Differ: sum.Differ,
		}
		for _, d := range sum.Differences {
			out.Differs = append(out.Differs, d.Time)
		}
		return json.NewEncoder(w.stdout).Encode(&out)
	}
	if sum.Ticks == 0 {
		_, err := fmt.Fprintf(w.stdout, "House %s: nothing to replay, ticks without a beginning %d\n", sum.House, sum.Passed)
		return err
	}
	_, err := fmt.Fprintf(w.stdout, "House %s, %s to %s: %d ticks, %d differ; gaps %d, ticks not replayable %d\n", sum.House,
		sum.First.Format(time.RFC3339), sum.Last.Format(time.RFC3339), sum.Ticks, sum.Differ, sum.Gaps, sum.Passed)
	for _, d := range sum.Differences {
		if err != nil || c.Quiet {
			break
		}
		state := decide.Activity(0)
		for i := range d.Decision.Stores {
			if s := d.Decision.Stores[i].State; s != decide.Rest {
				state = s
				break
			}
		}
		_, err = fmt.Fprintf(w.stdout, "  %s decides otherwise now: %s\n", d.Time.Format(time.RFC3339), state)
	}
	return err
}
