package commission

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"loambank/controller/judge"
)

// Verdict is how a step ended. The zero value is that it was not tried.
type Verdict uint8

// The closed list of verdicts.
const (
	NotTried Verdict = iota
	Skipped
	Failed
	Passed
)

var verdictWords = [...]string{NotTried: "not-tried", Skipped: "skipped", Failed: "failed", Passed: "passed"}

// String is the verdict's word.
func (v Verdict) String() string {
	if int(v) < len(verdictWords) {
		return verdictWords[v]
	}
	return fmt.Sprintf("verdict(%d)", uint8(v))
}

// MarshalText returns the verdict's word; one outside the list is an error.
func (v Verdict) MarshalText() ([]byte, error) {
	if int(v) >= len(verdictWords) {
		return nil, fmt.Errorf("%s is no verdict", v)
	}
	return []byte(verdictWords[v]), nil
}

// UnmarshalText reads a verdict's word.
func (v *Verdict) UnmarshalText(text []byte) error {
	i := slices.Index(verdictWords[:], string(text))
	if i < 0 {
		return fmt.Errorf("%.20q is no verdict; write skipped, failed or passed", text)
	}
	*v = Verdict(i)
	return nil
}

// Baseline is what a house was found to be: plain data, and the JSON that is kept. Figures that were
// not measured are left out.
type Baseline struct {
	Schema     int               `json:"schema"` // 1
	House      string            `json:"house"`
	Begun      time.Time         `json:"begun"`
	Finished   time.Time         `json:"finished,omitzero"` // zero while steps are left
	By         string            `json:"by,omitempty"`      // who made the round
	Fans       []FanResult       `json:"fans,omitempty"`
	Stores     []StoreResult     `json:"stores,omitempty"`
	Interlocks []InterlockResult `json:"interlocks,omitempty"`
	Probes     []ProbeResult     `json:"probes,omitempty"`
}

// FanResult is one speed of one fan, run alone.
type FanResult struct {
	Store   string  `json:"store"`
	Fan     string  `json:"fan"`
	Stage   uint8   `json:"stage"` // 1 is the slowest
	Full    bool    `json:"full"`  // it is the full speed
	Verdict Verdict `json:"verdict"`
	Problem string  `json:"problem,omitempty"`
	// Direction is whether air came out where it should: "right", "wrong", empty where nobody said.
	Direction string   `json:"direction,omitempty"`
	FlowM3s   *float64 `json:"flow_m3s,omitempty"` // by anemometer
	Readings  string   `json:"readings,omitempty"` // FlowM3s as it was typed
	PowerW    *float64 `json:"power_w,omitempty"`  // mean of the second half of the settling time
	DuctInC   *float64 `json:"duct_in_celsius,omitempty"`
	DuctOutC  *float64 `json:"duct_out_celsius,omitempty"`
}

// StoreResult is what was learned of a store by then, with all its fans at full speed.
type StoreResult struct {
	Store   string `json:"store"`
	Learned Flow   `json:"learned"`
}

// InterlockResult is one interlock, tripped and restored.
type InterlockResult struct {
	Probe   string     `json:"probe"`
	Store   string     `json:"store,omitempty"` // empty for one of the house
	Role    judge.Role `json:"role"`
	Verdict Verdict    `json:"verdict"`
	Problem string     `json:"problem,omitempty"`
	// LagS is the time from the tick that read it on to the one with the fans off, s; of those that
	// stop fans.
	LagS *float64 `json:"lag_s,omitempty"`
}

// ProbeResult is one probe, pulled and plugged back.
type ProbeResult struct {
	Probe   string     `json:"probe"`
	Store   string     `json:"store,omitempty"` // empty for one of the house
	Role    judge.Role `json:"role"`
	Verdict Verdict    `json:"verdict"`
	Problem string     `json:"problem,omitempty"`
	LostS   *float64   `json:"lost_s,omitempty"` // until it was seen missing, s
}

// Check says what is wrong with a baseline that somebody else made.
func (b *Baseline) Check() error {
	const most = 1000
	switch {
	case b.Schema != 1:
		return fmt.Errorf("the baseline is of schema %d; this loambank knows 1", b.Schema)
	case b.House == "":
		return errors.New("the baseline names no house")
	case b.Begun.IsZero() || !b.Finished.IsZero() && b.Finished.Before(b.Begun):
		return errors.New("the baseline ends before it begins")
	case len(b.Fans) > most || len(b.Interlocks) > most || len(b.Probes) > most:
		return errors.New("the baseline has more steps than any house")
	}
	for i := range b.Fans {
		f := &b.Fans[i]
		for _, v := range []*float64{f.FlowM3s, f.PowerW} {
			if v != nil && !(*v >= 0) {
				return fmt.Errorf("fan %s of %s: a flow or power is under 0", f.Fan, f.Store)
			}
		}
	}
	return nil
}

// done reports whether the baseline holds what came of a step.
func (b *Baseline) done(s *Step) bool {
	switch s.Kind {
	case Fan:
		return slices.ContainsFunc(b.Fans, func(f FanResult) bool { return f.Store == s.Store && f.Fan == s.Fan && f.Stage == s.Stage })
	case Interlock:
		return slices.ContainsFunc(b.Interlocks, func(r InterlockResult) bool { return r.Probe == s.Probe })
	}
	return slices.ContainsFunc(b.Probes, func(r ProbeResult) bool { return r.Probe == s.Probe })
}

// Count is how many steps ended that way.
func (b *Baseline) Count(v Verdict) (n int) {
	for i := range b.Fans {
		n += one(b.Fans[i].Verdict == v)
	}
	for i := range b.Interlocks {
		n += one(b.Interlocks[i].Verdict == v)
	}
	for i := range b.Probes {
		n += one(b.Probes[i].Verdict == v)
	}
	return n
}

func one(is bool) int {
	if is {
		return 1
	}
	return 0
}
