package main

import (
	"bytes"
	"fmt"

	"github.com/google/renameio/v2"

	"loambank/config/unit"
	"loambank/controller/chart"
	"loambank/controller/decide"
	"loambank/controller/trial"
)

// plot draws the year under the settings.
func (a *seasons) plot(path string) error {
	trace := a.policy.Trace
	c := &chart.Chart{
		Title: fmt.Sprintf("House %s in the weather of %s, simulated", a.h.House.Name, a.year.Station),
		About: "Temperatures of house, outside and soil over a year, and what the fans of each store did.",
		From:  trace[0].Time, To: trace[len(trace)-1].Time, Zone: a.s.Site.Zone, Width: 1100,
	}
	show := func(t unit.Celsius) float64 {
		if a.s.Display == unit.US {
			return t.Fahrenheit()
		}
		return float64(t)
	}
	curve := func(name string, of func(*trial.Hour) unit.Celsius) chart.Curve {
		curve := chart.Curve{Name: name}
		for i := range trace {
			curve.Points = append(curve.Points, chart.Point{Time: trace[i].Time, Value: show(of(&trace[i]))})
		}
		return curve
	}
	policy := &a.h.House.Decide.Policies[0]
	air := chart.Panel{Name: a.s.Display.Degree(), Height: 300, Curves: []chart.Curve{
		curve("house", func(h *trial.Hour) unit.Celsius { return h.Air }),
		curve("outside", func(h *trial.Hour) unit.Celsius { return h.Outside }),
	}}
	if policy.Crop {
		air.Rules = []chart.Rule{{Name: "frost limit", Value: show(policy.Frost)}}
	}
	soil := chart.Panel{Name: a.s.Display.Degree(), Height: 200, Curves: []chart.Curve{
		curve("soil between the pipes", func(h *trial.Hour) unit.Celsius { return h.Between }),
		curve("soil at the roots", func(h *trial.Hour) unit.Celsius { return h.Root }),
	}}
	c.Panels = []chart.Panel{air, soil}
	for i := range a.h.House.Decide.Stores {
		c.Lanes = append(c.Lanes, a.lane(i))
	}
	var svg bytes.Buffer
	if err := c.WriteSVG(&svg); err != nil {
		return err
	}
	return renameio.WriteFile(path, svg.Bytes(), 0o644)
}

// lane is what the fans of store i did.
func (a *seasons) lane(i int) chart.Lane {
	lane := chart.Lane{Name: a.h.House.Decide.Stores[i].Name}
	trace := a.policy.Trace
	for k := range trace {
		state := trace[k].State[i]
		if state == decide.Rest {
			continue
		}
		from := trace[max(0, k-1)].Time
		if n := len(lane.Stretches); n > 0 && lane.Stretches[n-1].Kind == state.String() && lane.Stretches[n-1].To.Equal(from) {
			lane.Stretches[n-1].To = trace[k].Time
			continue
		}
		lane.Stretches = append(lane.Stretches, chart.Stretch{From: from, To: trace[k].Time, Kind: state.String()})
	}
	return lane
}
