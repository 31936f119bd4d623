package main

import (
	"bytes"
	"fmt"

	"github.com/google/renameio/v2"

	"loambank/controller/chart"
	"loambank/controller/plan/tune"
)

// plot draws the trade-off.
func (a *advice) plot(path string) error {
	words := a.bench.words()
	p := &chart.Plane{
		Title: fmt.Sprintf("House %s %s: what a safer crop costs", a.h.House.Name, words.on),
		About: fmt.Sprintf("Cost %s over the hours at the frost limit: settings tried, those that nothing beats in both, and today's, %s.", words.inTime, words.unseen),
		X:     chart.Axis{Name: "hours " + words.inTime + " at the frost limit"},
		Y:     chart.Axis{Name: a.unitOfCost() + "/" + words.per},
	}
	spot := func(t *tune.Trial, label string) chart.Spot {
		m := t.Mean()
		return chart.Spot{X: m.RiskH, Y: m.Cost, Label: label}
	}
	front := chart.Series{Name: "best found", Joined: true}
	for i, t := range a.frontUnseen {
		front.Spots = append(front.Spots, spot(t, fmt.Sprint(i+1)))
	}
	p.Series = []chart.Series{
		front,
		{Name: "today", Spots: []chart.Spot{spot(a.todayUnseen, "today")}},
		{Name: "advised", Spots: []chart.Spot{spot(a.bestUnseen, "")}},
	}
	var svg bytes.Buffer
	if err := p.WriteSVG(&svg); err != nil {
		return err
	}
	return renameio.WriteFile(path, svg.Bytes(), 0o644)
}
