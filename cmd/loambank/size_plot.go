package main

import (
	"bytes"
	"fmt"

	"github.com/google/renameio/v2"

	"loambank/controller/chart"
)

// plot draws the ladder: what a year's energy costs, or the hours at risk, over what is built.
func (a *sizing) plot(path string) error {
	what := "hours at the frost limit"
	if a.choice.Priced {
		what = "fuel and electricity"
	}
	p := &chart.Plane{
		Title: fmt.Sprintf("House %s in the weather of %s: %s a year by design", a.h.House.Name, a.year.Station, what),
		About: "Each design by what it costs to build and what a year then costs in fuel and electricity, or, without prices, its hours at the frost limit.",
		X:     chart.Axis{Name: a.symbol() + " to build"},
		Y:     chart.Axis{Name: "h/year", Zero: true},
	}
	if a.choice.Priced {
		p.Y.Name = a.symbol() + "/year"
	}
	var ladder, beside, marked chart.Series
	ladder.Name, ladder.Joined, beside.Name, marked.Name = "ladder", true, "for comparison", "knee"
	for i := range a.rungs {
		r := &a.rungs[i]
		if !r.Lived {
			continue
		}
		spot := chart.Spot{X: r.Costs, Y: r.Outcome.FrostH, Label: fmt.Sprint(i + 1)}
		if a.choice.Priced {
			spot.Y = r.Outcome.Running()
		}
		if r.Beside {
			beside.Spots = append(beside.Spots, spot)
		} else {
			ladder.Spots = append(ladder.Spots, spot)
		}
		if i == a.choice.Knee {
			marked.Spots = append(marked.Spots, chart.Spot{X: spot.X, Y: spot.Y})
		}
	}
	p.Series = []chart.Series{ladder, beside, marked}
	return writePlane(p, path)
}

// plotSolar draws fans against panels of a zero yearly bill, by month.
func (a *sizing) plotSolar(path string) error {
	p := &chart.Plane{
		Title: fmt.Sprintf("House %s in the weather of %s: fans and %.2f kW of panels", a.h.House.Name, a.year.Station, a.solar.netMetered.ArrayKW),
		About: "Electricity of the fans and of panels that give as much in the whole year, by month.",
		X:     chart.Axis{Names: monthNames[:]}, Y: chart.Axis{Name: "kWh", Zero: true},
	}
	fans, panels := chart.Series{Name: "fans", Joined: true}, chart.Series{Name: "panels", Joined: true}
	for m := range monthNames {
		fans.Spots = append(fans.Spots, chart.Spot{X: float64(m), Y: a.solar.fans[m]})
		panels.Spots = append(panels.Spots, chart.Spot{X: float64(m), Y: a.solar.yield[m] * a.solar.netMetered.ArrayKW})
	}
	p.Series = []chart.Series{fans, panels}
	return writePlane(p, path)
}

var monthNames = [12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// writePlane writes a picture to a file.
func writePlane(p *chart.Plane, path string) error {
	var svg bytes.Buffer
	if err := p.WriteSVG(&svg); err != nil {
		return err
	}
	return renameio.WriteFile(path, svg.Bytes(), 0o644)
}
