package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/commission"
	"loambank/controller/commission/shelf"
	"loambank/controller/hand"
	"loambank/controller/sentence"
)

// tell writes what came of a round, and is a no where that is not good.
func (at *commissioned) tell(b *commission.Baseline, asJSON bool) error {
	err := at.unkept
	if asJSON {
		encoder := json.NewEncoder(at.w.stdout)
		encoder.SetIndent("", "  ")
		err = errors.Join(err, encoder.Encode(b))
	} else if !b.Finished.IsZero() {
		err = errors.Join(err, at.table(b))
	}
	if err != nil {
		return err
	}
	if b.Finished.IsZero() || b.Count(commission.Failed) > 0 {
		return answerNo{errors.New("")}
	}
	return nil
}

// shownBaseline is what --show --json writes.
type shownBaseline struct {
	Schema   int                  `json:"schema"` // 1
	House    string               `json:"house"`
	Baseline *commission.Baseline `json:"baseline"` // null where the house was never commissioned
	Now      []shownComparison    `json:"now"`
}

// shownComparison is a measure then and now: watts, or cubic metres per second.
type shownComparison struct {
	Store  string   `json:"store"`
	Fan    string   `json:"fan,omitempty"` // empty is all fans of the store
	WasW   *float64 `json:"was_w,omitempty"`
	IsW    *float64 `json:"is_w,omitempty"`
	WasM3s *float64 `json:"was_m3s,omitempty"`
	IsM3s  *float64 `json:"is_m3s,omitempty"`
}

func (at *commissioned) show(kept *hand.Answer, look *commission.Look, asJSON bool) error {
	b := kept.Whole
	var now []commission.Comparison
	if b != nil {
		now = commission.Compare(b, look)
	}
	if asJSON {
		out := shownBaseline{Schema: 1, House: at.house, Baseline: b, Now: []shownComparison{}}
		for _, c := range now {
			x := shownComparison{Store: c.Store, Fan: c.Fan, WasW: &c.Was, IsW: &c.Is}
			if c.What == commission.Airflow {
				x = shownComparison{Store: c.Store, Fan: c.Fan, WasM3s: &c.Was, IsM3s: &c.Is}
			}
			out.Now = append(out.Now, x)
		}
		encoder := json.NewEncoder(at.w.stdout)
		encoder.SetIndent("", "  ")
		return encoder.Encode(&out)
	}
	if kept.Begun != nil {
		fmt.Fprintf(at.talk, "A round begun on %s is not complete; loambank commission --house %s goes on with it.\n", at.day(kept.Begun.Begun), at.house)
	}
	if b == nil {
		return answerNo{fmt.Errorf("house %s is not commissioned yet; loambank commission --house %s does it", at.house, at.house)}
	}
	if err := at.table(b); err != nil {
		return err
	}
	fmt.Fprintln(at.talk, "\nNow:")
	for _, c := range now {
		fmt.Fprintf(at.talk, "  %s\n", wrap(sentence.Compared(c, at.display), width(at.talk), 2))
	}
	if len(now) == 0 {
		fmt.Fprintln(at.talk, "  Nothing to compare: no fan runs whose power is read, no airflow is learned.")
	}
	return nil
}

func (at *commissioned) day(t time.Time) string { return t.In(at.zone).Format("2 January 2006") }

// table writes a round.
func (at *commissioned) table(b *commission.Baseline) error {
	by := ""
	if b.By != "" {
		by = " by " + b.By
	}
	head := fmt.Sprintf("House %s, commissioned on %s%s: %d passed, %d failed, %d skipped.", b.House, at.day(b.Finished), by,
		b.Count(commission.Passed), b.Count(commission.Failed), b.Count(commission.Skipped))
	fmt.Fprintf(at.talk, "\n%s\n\n", wrap(head, width(at.talk), 0))
	t := tabwriter.NewWriter(at.talk, 0, 0, 2, ' ', 0)
	if len(b.Fans) > 0 {
		fmt.Fprintln(t, "  fan\tspeed\tresult\tair goes\tairflow\tpower\tduct in\tduct out")
	}
	for i := range b.Fans {
		at.fanRow(t, &b.Fans[i])
	}
	if err := t.Flush(); err != nil {
		return err
	}
	t = tabwriter.NewWriter(at.talk, 0, 0, 2, ' ', 0)
	if len(b.Interlocks)+len(b.Probes) > 0 {
		fmt.Fprintln(t, "\n  interlock or probe\trole\tresult")
	}
	for _, r := range b.Interlocks {
		fmt.Fprintf(t, "  %s\t%s\t%s\n", r.Probe, r.Role, r.Verdict)
	}
	for _, r := range b.Probes {
		fmt.Fprintf(t, "  %s\t%s\t%s\n", r.Probe, r.Role, r.Verdict)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	at.problems(b)
	return nil
}

// problems writes why steps failed.
func (at *commissioned) problems(b *commission.Baseline) {
	write := func(name, problem string) {
		if problem != "" {
			fmt.Fprintf(at.talk, "\n  %s\n", wrap(name+": "+problem, width(at.talk), 2))
		}
	}
	for _, r := range b.Fans {
		write(r.Store+"/"+r.Fan, r.Problem)
	}
	for _, r := range b.Interlocks {
		write(r.Probe, r.Problem)
	}
	for _, r := range b.Probes {
		write(r.Probe, r.Problem)
	}
}

func (at *commissioned) fanRow(w io.Writer, f *commission.FanResult) {
	d, speed := at.display, fmt.Sprint(f.Stage)
	degrees := func(c float64) string { return d.Temperature(unit.Celsius(c)) }
	if f.Full {
		speed = "full"
	}
	row := []string{
		"  " + f.Store + "/" + f.Fan, speed, f.Verdict.String(), orDash(f.Direction),
		measuredOr(f.FlowM3s, d.Flow), measuredOr(f.PowerW, d.Power), measuredOr(f.DuctInC, degrees), measuredOr(f.DuctOutC, degrees),
	}
	fmt.Fprintln(w, strings.Join(row, "\t"))
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

func measuredOr(v *float64, show func(float64) string) string {
	if v == nil {
		return "-"
	}
	return show(*v)
}

// commissionedWords says how a house stands to its rounds: when the last was, and what is due.
func commissionedWords(s *config.Settings, house string, now time.Time) string {
	b, _, err := shelf.Newest(s.StateDir, house)
	switch {
	case b == nil && err != nil:
		return fmt.Sprintf("What house %s was commissioned with cannot be read: %v", house, err)
	case b == nil:
		return "House " + house + " was never commissioned; loambank commission --house " + house + " does it."
	}
	at, again := b.Finished.In(s.Site.Zone), ""
	if at.Before(s.Turn.SeasonBegan(now.In(s.Site.Zone))) {
		again = " The season has turned since: commission it again."
	}
	return fmt.Sprintf("House %s was commissioned on %s: %d passed, %d failed, %d skipped.%s", house, at.Format("2 January 2006"),
		b.Count(commission.Passed), b.Count(commission.Failed), b.Count(commission.Skipped), again)
}
