package model_test

import (
	"context"
	"errors"
	"reflect"
	"testing"
	"time"

	"loambank/drivers/device"
	"loambank/drivers/model"
)

// plant notes how it is moved on. It shows how often at its first probe, and nothing at its third.
type plant struct {
	at     []time.Time
	stages [][]device.Stage
}

func (p *plant) Advance(at time.Time, dtS float64, stages [][]device.Stage) {
	if dtS != model.Step.Seconds() {
		panic("a step of another length")
	}
	p.at = append(p.at, at)
	p.stages = nil
	for _, s := range stages {
		p.stages = append(p.stages, append([]device.Stage(nil), s...))
	}
}

func (p *plant) Read(probe int) (float64, bool) { return float64(len(p.at)), probe < 2 }

var noon = time.Date(2026, time.January, 20, 12, 0, 0, 0, time.UTC)

// pitch is a house of two stores with two fans and one, and its clock.
func pitch() (*model.House, *plant, *time.Time) {
	now := noon
	p := &plant{}
	return model.New(p, []int{2, 1}, func() time.Time { return now }), p, &now
}

func TestTheHouseFollowsItsClock(t *testing.T) {
	h, p, now := pitch()
	probe, err := h.Probe("lower/air", 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []struct {
		after time.Duration
		want  float64
	}{
		{0, 0},
		{model.Step - time.Second, 0},
		{time.Second, 1},
		{time.Hour, 61},
		{-time.Hour, 61}, // a clock that is set back moves nothing
		{time.Hour, 61},
		{model.Step, 62},
	} {
		*now = now.Add(step.after)
		if v, err := probe.Read(t.Context()); v != step.want || err != nil {
			t.Errorf("at %v the house has moved on %v times, %v; want %v", *now, v, err, step.want)
		}
	}
	for i, at := range p.at {
		if want := noon.Add(time.Duration(i) * model.Step); !at.Equal(want) {
			t.Errorf("step %d is from %v, want %v", i, at, want)
		}
	}
}

func TestFansMoveTheHouse(t *testing.T) {
	h, p, now := pitch()
	two, err := h.Fan("lower/beds/west", 0, 1, 3)
	if err != nil {
		t.Fatal(err)
	}
	one, err := h.Fan("lower/path/only", 1, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	want := func(what string, stages [][]device.Stage) {
		t.Helper()
		*now = now.Add(model.Step)
		if _, err := h.Probe("lower/air", 0); err != nil {
			t.Fatal(err)
		}
		if err := one.Set(t.Context(), stages[1][0]); err != nil { // any call brings it up to date
			t.Fatal(err)
		}
		if !reflect.DeepEqual(p.stages, stages) {
			t.Errorf("%s: %v, want %v", what, p.stages, stages)
		}
	}
	set := func(f *model.Fan, s device.Stage) {
		t.Helper()
		if err := f.Set(t.Context(), s); err != nil {
			t.Fatal(err)
		}
	}
	want("all are off at first", [][]device.Stage{{0, 0}, {0}})
	set(two, 3)
	set(one, 1)
	want("both run", [][]device.Stage{{0, 3}, {1}})
	*now = now.Add(model.Step)
	set(two, 0) // what went before ran at full speed
	if !reflect.DeepEqual(p.stages, [][]device.Stage{{0, 3}, {1}}) {
		t.Errorf("the step before an order went by %v", p.stages)
	}
	if err := one.Close(); err != nil {
		t.Fatal(err)
	}
	want("closing puts off", [][]device.Stage{{0, 0}, {0}})
	if err := two.Set(t.Context(), 4); err == nil {
		t.Error("a fan of three stages runs at a fourth")
	}
	if err := one.Set(t.Context(), 2); err == nil {
		t.Error("a fan without stated speeds has two")
	}
}

func TestWhatTheHouseDoesNotHave(t *testing.T) {
	h, _, _ := pitch()
	if _, err := h.Probe("lower/co2", 2); err == nil || err.Error() != "probe lower/co2: the model house does not show that" {
		t.Errorf("a probe of what it does not show: %v", err)
	}
	for _, place := range [][2]int{{2, 0}, {-1, 0}, {0, 2}, {1, 1}, {0, -1}} {
		if _, err := h.Fan("lower/beds/third", place[0], place[1], 1); err == nil {
			t.Errorf("a fan at %v", place)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	probe, err := h.Probe("lower/air", 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := probe.Read(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("read too late: %v", err)
	}
	fan, err := h.Fan("lower/beds/east", 0, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := fan.Set(ctx, 1); !errors.Is(err, context.Canceled) {
		t.Errorf("set too late: %v", err)
	}
	if probe.String() != "lower/air (model)" || fan.String() != "lower/beds/east (model)" || probe.Close() != nil {
		t.Errorf("%s, %s", probe, fan)
	}
}
