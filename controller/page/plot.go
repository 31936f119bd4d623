package page

import (
	"loambank/config/unit"
	"loambank/controller/chart"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// mostCurves is how many curves of one panel differ in colour and dash; curvePx is the width of the
// picture that each needs.
const mostCurves, curvePx = 6, 120

// plot makes the picture of a record.
func plot(r *record, q *question, d unit.Display) *chart.Chart {
	h := &q.house.House
	c := &chart.Chart{
		Title: h.Name + ", " + q.title(), From: q.from, To: q.to, Zone: q.from.Location(), Width: q.width,
		About: "Air and soil temperatures, humidity and what the fans did. The table on the page has the same figures.",
	}
	air := chart.Panel{Name: d.Degree(), Height: 180}
	for i := range h.Probes {
		p := &h.Probes[i]
		crop := p.Judge.Role == judge.Air && (q.span.fine || p.Judge.Place == judge.Crop)
		if !crop && p.Judge.Role != judge.Outside {
			continue // the intake differs from the crop by hours, not by days
		}
		air.Curves = append(air.Curves, chart.Curve{Name: p.Name, Points: r.points(i, q.span.fine, shown(judge.Air, d))})
		if crop && !q.span.fine {
			air.Curves = append(air.Curves, chart.Curve{Name: p.Name + ", lowest", Points: r.lowest(i, shown(judge.Air, d))})
		}
	}
	if len(h.Decide.Policies) > 0 && len(air.Curves) > 0 {
		p := &h.Decide.Policies[0]
		value := shown(judge.Air, d)
		air.Rules = []chart.Rule{{Name: "setpoint", Value: value(float64(p.Setpoint))}}
		if p.Crop {
			air.Rules = append(air.Rules, chart.Rule{Name: "frost limit", Value: value(float64(p.Frost))})
		}
	}
	split(c, air)
	for store := house.WholeHouse; store < len(h.Decide.Stores); store++ {
		split(c, soilPanel(r, q, store, d))
	}
	damp := chart.Panel{Name: "%", Height: 90}
	for i := range h.Probes {
		if h.Probes[i].Judge.Role == judge.Humidity {
			damp.Curves = append(damp.Curves, chart.Curve{Name: h.Probes[i].Name, Points: r.points(i, q.span.fine, shown(judge.Humidity, d))})
		}
	}
	split(c, damp)
	if q.span.fine {
		c.Lanes, c.Kinds = lanes(r, h), kinds()
	} else {
		c.Panels = append(c.Panels, hours(r, h))
	}
	return c
}

// soilPanel has the soil of one store by depth, or of the house outside its stores.
func soilPanel(r *record, q *question, store int, d unit.Display) chart.Panel {
	h := &q.house.House
	panel := chart.Panel{Name: d.Degree(), Height: 150}
	for i := range h.Probes {
		if p := &h.Probes[i]; p.Judge.Role == judge.Soil && p.Store == store {
			panel.Curves = append(panel.Curves, chart.Curve{Name: soilName(p, h, d), Points: r.points(i, q.span.fine, shown(judge.Soil, d))})
		}
	}
	return panel
}

// soilName says which soil a probe is in: "18 in", with its own name where two are as deep, and
// its store where there are several.
func soilName(p *house.Probe, h *house.Settings, d unit.Display) string {
	name := p.Name
	if p.Judge.DepthM > 0 {
		name = d.Length(p.Judge.DepthM)
		for i := range h.Probes {
			o := &h.Probes[i].Judge
			if &h.Probes[i] != p && o.Role == judge.Soil && h.Probes[i].Store == p.Store && o.DepthM == p.Judge.DepthM &&
				(o.Place == judge.Undisturbed) == (p.Judge.Place == judge.Undisturbed) {
				name = p.Name + " " + d.Length(p.Judge.DepthM)
			}
		}
	}
	if p.Judge.Place == judge.Undisturbed {
		name = "untouched " + name
	}
	if len(h.Decide.Stores) > 1 && p.Store >= 0 {
		name += ", " + h.Decide.Stores[p.Store].Name
	}
	return name
}

// split adds a panel with as many curves as can be told apart, and the rest in further ones.
func split(c *chart.Chart, p chart.Panel) {
	most := min(mostCurves, c.Width/curvePx)
	for len(p.Curves) > 0 {
		part := p
		part.Curves = p.Curves[:min(most, len(p.Curves))]
		c.Panels, p.Curves = append(c.Panels, part), p.Curves[len(part.Curves):]
	}
}

// shown turns a reading of a role into the number that people see.
func shown(role judge.Role, d unit.Display) func(float64) float64 {
	switch {
	case role == judge.Humidity:
		return func(v float64) float64 { return 100 * v }
	case role.Temperature() && d == unit.US:
		return func(v float64) float64 { return unit.Celsius(v).Fahrenheit() }
	}
	return func(v float64) float64 { return v }
}

// points are a probe's values. Closely, they are the least and the greatest of each slot, so that no
// cold minute is lost, beginning with the one that is nearer to the last; else the means of the days.
func (r *record) points(probe int, fine bool, value func(float64) float64) []chart.Point {
	last, begun := 0.0, false
	return r.curve(probe, func(c *cell) (values []float64) {
		first, second := value(c.min), value(c.max)
		switch {
		case !fine:
			return []float64{value(c.sum / c.weightS)}
		case first == second:
			return []float64{first}
		case begun && last-first > second-last:
			first, second = second, first
		}
		last, begun = second, true
		return []float64{first, second}
	})
}

// lowest are the least values of the days.
func (r *record) lowest(probe int, value func(float64) float64) []chart.Point {
	return r.curve(probe, func(c *cell) []float64 { return []float64{value(c.min)} })
}

// curve has the values of every slot in its middle, and gaps where there are none.
func (r *record) curve(probe int, values func(*cell) []float64) (all []chart.Point) {
	gap := true
	for slot := range r.probes[probe] {
		c, at := &r.probes[probe][slot], r.at(slot).Add(r.slot/2)
		if c.weightS == 0 {
			if !gap {
				all = append(all, chart.Point{Time: at, Gap: true})
			}
			gap = true
			continue
		}
		for _, v := range values(c) {
			all = append(all, chart.Point{Time: at, Value: v})
		}
		gap = false
	}
	return all
}

// lanes are what the fans of each store did.
func lanes(r *record, h *house.Settings) (all []chart.Lane) {
	for i := range h.Decide.Stores {
		l := chart.Lane{Name: h.Decide.Stores[i].Name}
		for slot := range r.stores[i] {
			state, ran := r.stores[i].did(slot)
			if !ran {
				continue
			}
			from, to := r.at(slot), r.at(slot+1)
			if n := len(l.Stretches); n > 0 && l.Stretches[n-1].Kind == doing(state) && l.Stretches[n-1].To.Equal(from) {
				l.Stretches[n-1].To = to
				continue
			}
			l.Stretches = append(l.Stretches, chart.Stretch{From: from, To: to, Kind: doing(state)})
		}
		all = append(all, l)
	}
	return all
}

// kinds are what running fans do, in the order of their colours.
func kinds() (all []string) {
	for _, a := range [...]decide.Activity{decide.Charge, decide.Discharge, decide.Dry, decide.Frost, decide.Action, decide.Fallback} {
		all = append(all, doing(a))
	}
	return all
}

// doing says what running fans do in an activity.
func doing(a decide.Activity) string {
	switch a {
	case decide.Charge:
		return "charge (heat down)"
	case decide.Discharge:
		return "discharge (heat up)"
	}
	return a.String()
}

// hours are the hours a day that each store's fans ran.
func hours(r *record, h *house.Settings) chart.Panel {
	panel := chart.Panel{Name: "h/day", Height: 90, Zero: true}
	for i := range h.Decide.Stores {
		curve := chart.Curve{Name: "fans of " + h.Decide.Stores[i].Name}
		for slot := range r.stores[i] {
			onS, known := r.stores[i].onS(slot)
			curve.Points = append(curve.Points, chart.Point{Time: r.at(slot).Add(r.slot / 2), Value: onS / 3600, Gap: !known})
		}
		panel.Curves = append(panel.Curves, curve)
	}
	return panel
}
