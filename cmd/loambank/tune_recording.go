package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"loambank/config"
	"loambank/controller/plan/tune"
	"loambank/controller/plan/whatif"
	"loambank/controller/replay"
)

// onRecording tries settings on the house's own recording.
type onRecording struct {
	*whatif.Winter
	s    *config.Settings
	h    *config.House
	kept *replay.Kept
}

func (c *tuneCommand) onRecording(w *world, s *config.Settings, h *config.House) (bench, error) {
	rows, o, finish, err := c.open(w, s)
	defer func() { finish() }()
	if err != nil {
		return nil, err
	}
	kept, err := replay.Keep(rows)
	if err != nil {
		return nil, err
	}
	finish()
	winter, err := whatif.Learn(s, h, kept, whatif.Options{From: o.From, Until: o.Until, Rested: c.Rested})
	if err != nil {
		return nil, err
	}
	b := &onRecording{winter, s, h, kept}
	if winter.Lacks != "" {
		return nil, answerNo{errors.New(wrap(b.fitText()+" No settings can be tried on the recording: "+winter.Lacks+".", plainWidth, 0))}
	}
	return b, nil
}

func (b *onRecording) seen() []uint64   { return b.Seen() }
func (b *onRecording) unseen() []uint64 { return b.Unseen() }

func (b *onRecording) live(ctx context.Context, h *config.House, some []uint64) ([]tune.Outcome, error) {
	return b.Live(ctx, h, some)
}

func (b *onRecording) judge(ctx context.Context, better, today *tried, riskCost float64) (tune.Gain, error) {
	return b.Gain(ctx, better.h, today.h, b.unseen(), riskCost)
}

// weeks are asked of a year of weather: a recording seldom has its summer.
func (b *onRecording) weeks(*world, *config.House) ([]tune.Week, error) { return nil, nil }

// weigh has nothing to weigh: what is not known of the house is in the ± of the gain.
func (b *onRecording) weigh(*world, *config.House, float64) ([]weight, error) { return nil, nil }

func (b *onRecording) mark(w io.Writer) {
	fmt.Fprintln(w, b.First, b.Last)
	b.kept.Mark(w)
}

func (b *onRecording) fitText() string {
	return fitText(b.s, b.h, &b.Fit)
}

func (b *onRecording) words() *words {
	const day = "2006-01-02"
	zone := b.s.Site.Zone
	from := "the fans are taken to have run as today's settings decide"
	if b.Metered {
		from = "what the fans did is what they drew"
	}
	return &words{
		on: fmt.Sprintf("on its recording of %s to %s", b.First.In(zone).Format(day), b.Last.In(zone).Format(day)),
		parts: fmt.Sprintf("Blocks of %d days: %d seen by the search, the %d between them to judge it.",
			tune.BlockDays, len(b.Seen()), len(b.Unseen())),
		per: fmt.Sprintf("%d d", whatif.PerDays), inTime: fmt.Sprintf("in %d days", whatif.PerDays),
		unseen: "in the blocks the search did not see", learned: b.fitText(),
		caveat: fmt.Sprintf("The house did not feel the fans of other settings: its readings are corrected by what the recording taught "+
			"(loss %.0f ± %.0f W/K), and %s. It is one winter. Figures are those of the blocks for %d days each; ± joins what "+
			"varies between blocks, with 95 %%, and what is not known of the house.",
			b.Learned.LossWK.Value, 2*b.Learned.LossWK.SE, from, whatif.PerDays),
	}
}

func (b *onRecording) json(out *tuneJSON) {
	const form = "2006-01-02T15:04:05Z07:00"
	zone := b.s.Site.Zone
	out.PerDays = whatif.PerDays
	out.Recording = &recordingJSON{
		First: b.First.In(zone).Format(form), Last: b.Last.In(zone).Format(form), Rows: b.Rows,
		Seen: len(b.Seen()), Unseen: len(b.Unseen()), Metered: b.Metered,
		LossWK: figureJSON{rounded(b.Learned.LossWK.Value), rounded(2 * b.Learned.LossWK.SE)}, Fit: fitOf(b.h, &b.Fit),
	}
}
