package foresight

import (
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"
	"loambank/controller/trial"
)

// Record is a rule that notes what it did in every step of its trial, for a Plan to follow.
type Record struct {
	rule  trial.Rule
	steps []did
}

// did is what fans did in a step: where heat went, and the fastest of them.
type did struct {
	way   way
	stage uint8
}

// NewRecord returns a rule that does as the given one.
func NewRecord(rule trial.Rule) *Record { return &Record{rule: rule} }

// Decide asks the rule.
func (r *Record) Decide(raw []judge.Raw, now time.Time) (trial.Stages, [decide.MaxStores]decide.Activity) {
	stages, doing := r.rule.Decide(raw, now)
	var d did
	for i, a := range doing {
		for _, stage := range stages[i] {
			if stage > d.stage {
				d = did{wayOf(a), stage}
			}
		}
	}
	r.steps = append(r.steps, d)
	return stages, doing
}

// at is what was done in a step; beyond the record fans rested.
func (r *Record) at(step int) (way, uint8) {
	if step >= len(r.steps) {
		return rest, 0
	}
	return r.steps[step].way, r.steps[step].stage
}
