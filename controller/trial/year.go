package trial

import (
	"math"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/season"
	"loambank/controller/sim/greenhouse"
	"loambank/controller/tariff"
	"loambank/controller/weather"
)

// Year is weather laid out in steps of StepS, and where it begins in the settings' calendar.
type Year struct {
	Samples []greenhouse.Outdoors
	Zone    *time.Location // of the site
	Offset  time.Duration  // of the weather's clock, east of Greenwich
}

// Lay lays a weather file out for trials at a site.
func Lay(y *weather.Year, zone *time.Location) (*Year, error) {
	samples, err := y.Resample(StepS * time.Second)
	if err != nil {
		return nil, err
	}
	laid := &Year{Samples: make([]greenhouse.Outdoors, len(samples)), Zone: zone, Offset: time.Duration(y.ZoneH * float64(time.Hour))}
	for i := range samples {
		laid.Samples[i] = greenhouse.Look(&samples[i])
	}
	return laid, nil
}

// settleFrom is where a trial begins: the middle of the warm half of the year, north or south of the
// equator, when nothing is stored for a winter.
func settleFrom(latitudeDeg float64) time.Month {
	if latitudeDeg < 0 {
		return time.January
	}
	return time.July
}

// SettleDay is the day of the year on which a trial begins, counted from its beginning.
func SettleDay(h *config.House) float64 {
	if settleFrom(h.House.Decide.Season.Site.LatitudeDeg) == time.January {
		return 0
	}
	return 181
}

// Result is what a house did in a year, from summer to summer.
type Result struct {
	Months [12]Month // in the order lived through
	Trace  []Hour    // of every hour, where asked for
}

// Month is one month of a trial.
type Month struct {
	Month       time.Month
	StateS      [decide.Activities]float64 // summed over stores
	FanKWh      float64
	InKWh       float64 // heat the fans' air left in the soil
	OutKWh      float64 // heat it took out
	LatentKWh   float64 // of InKWh, by condensing
	Low         unit.Celsius
	FrostS      float64 // with air at or under the frost limit in force
	FrostKS     float64 // how far under it, summed over time, K s
	HeaterKWh   float64 // useful heat of the heater
	Electricity float64 // money for the fans
	Fuel        float64 // money for the heater
}

// Hour is what a picture or a plan wants to know of an hour: the values at its end, and sums.
type Hour struct {
	Time                        time.Time
	Air, Outside, Root, Between unit.Celsius // soil of the first store
	Soil                        unit.Celsius // between the pipes, mean of all stores; 0 without any
	Vapour                      float64      // humidity ratio of the air, kg/kg dry air
	VentPerH                    float64      // air changes per hour through the vents
	State                       [decide.MaxStores]decide.Activity
	FanKWh                      float64 // of the whole hour, as what follows
	HeatKWh                     float64 // net into the soil by the fans' air
	HeaterKWh                   float64 // useful heat of the heater
}

// Run lets the plant live under a rule through the year twice, to settle and to count. tell, which
// may be nil, is told now and then which share is done, 0 to 1.
func (p *Plant) Run(y *Year, r Rule, trace bool, tell func(share float64)) *Result {
	n := len(y.Samples)
	c := &count{p: p, y: y, r: &Result{}, trace: trace, coldC: warmestFrost(&p.s.House.Decide)}
	// A calendar of two years without a leap day.
	c.start = time.Date(2001, settleFrom(p.s.House.Decide.Season.Site.LatitudeDeg), 1, 0, 0, 0, 0, time.FixedZone("", int(y.Offset.Seconds())))
	first := int(c.start.Sub(time.Date(2001, time.January, 1, 0, 0, 0, 0, c.start.Location())) / (StepS * time.Second))
	looks := p.looks(r)
	for i := range 2 * n {
		w := &y.Samples[(first+i)%n]
		now := c.start.Add(time.Duration(i) * StepS * time.Second).In(y.Zone)
		stages, doing := r.Decide(p.readings(w, looks), now)
		p.step(w, &stages, StepS)
		if i >= n {
			c.add(w, now, &doing)
		}
		if tell != nil && i%(n/100) == 0 {
			tell(float64(i) / float64(2*n))
		}
	}
	return c.r
}

// step drives the fans for one step of dtS seconds.
func (p *Plant) step(w *greenhouse.Outdoors, stages *Stages, dtS float64) {
	for i := range p.s.House.Decide.Stores {
		fans := p.s.House.Decide.Stores[i].Fans
		f := &p.fans[i]
		f.FlowM3s, f.PowerW = 0, 0
		for j := range fans {
			stage := min(stages[i][j], uint8(len(fans[j].Levels)))
			p.stages[i][j] = stage
			f.FlowM3s += believed(&fans[j], stage)
			f.PowerW += fans[j].PowerAt(stage)
		}
	}
	p.house.Advance(w, p.fans, dtS, &p.flux)
	p.stepS = dtS
}

// count adds up a year.
type count struct {
	p     *Plant
	y     *Year
	r     *Result
	start time.Time
	trace bool
	seen  int // months begun
	hour  int
	now   Hour // sums of the hour so far
	// What the calendar says, until then, at the latest the end of the day.
	month  *Month
	prices tariff.Prices
	until  time.Time
	// Likewise the policy in force, which is asked for where the air is as cold as any frost limit.
	coldC       unit.Celsius
	policy      *decide.Policy
	policyUntil time.Time
}

// look asks the calendar, where its last answer no longer holds.
func (c *count) look(now time.Time) {
	if now.Before(c.until) {
		return
	}
	c.prices, c.until = tariff.At(c.p.s.House.Decide.Tariff, now)
	c.month = c.monthOf(now)
}

// warmestFrost is the warmest of the frost limits: warmer air is under none.
func warmestFrost(d *decide.Settings) unit.Celsius {
	c := unit.Celsius(math.Inf(-1))
	for i := range d.Policies {
		c = max(c, d.Policies[i].Frost)
	}
	return c
}

// frost counts what the crop has to bear.
func (c *count) frost(air unit.Celsius, now time.Time) {
	if air > c.coldC {
		return
	}
	if !now.Before(c.policyUntil) {
		d := &c.p.s.House.Decide
		var window int
		window, c.policyUntil = season.First(d.Season.Site, d.Season.Windows, now)
		c.policy = &d.Policies[window+1]
	}
	if c.policy.Crop && air <= c.policy.Frost {
		c.month.FrostS += StepS
		c.month.FrostKS += StepS * float64(c.policy.Frost.Sub(air))
	}
}

const (
	jPerKWh = 3.6e6
	hourS   = 3600
)

func (c *count) add(w *greenhouse.Outdoors, now time.Time, doing *[decide.MaxStores]decide.Activity) {
	c.look(now)
	m := c.month
	d, air := &c.p.s.House.Decide, c.p.house.State().Air
	for i := range d.Stores {
		m.StateS[doing[i]] += StepS
		heat := c.p.flux.Beds[i].AirJ() / jPerKWh
		c.now.HeatKWh += heat
		m.InKWh += max(0, heat)
		m.OutKWh -= min(0, heat)
		if heat > 0 {
			m.LatentKWh += max(0, c.p.flux.Beds[i].LatentJ) / jPerKWh
		}
	}
	m.Low = min(m.Low, air)
	c.frost(air, now)
	prices := &c.prices
	m.FanKWh += c.p.flux.FanJ / jPerKWh
	m.HeaterKWh += c.p.flux.HeaterJ / jPerKWh
	m.Electricity += c.p.flux.FanJ / jPerKWh * prices.ElectricityPerKWh
	m.Fuel += c.p.flux.HeaterJ / jPerKWh * prices.FuelHeatPerKWh
	c.now.FanKWh += c.p.flux.FanJ / jPerKWh
	c.now.HeaterKWh += c.p.flux.HeaterJ / jPerKWh
	if c.hour++; c.hour%(hourS/StepS) == 0 {
		c.endHour(w, now.Add(StepS*time.Second), doing)
	}
}

// endHour notes the hour that ends.
func (c *count) endHour(w *greenhouse.Outdoors, end time.Time, doing *[decide.MaxStores]decide.Activity) {
	h := c.now
	c.now = Hour{}
	if !c.trace {
		return
	}
	house := c.p.house.State()
	h.Time, h.Air, h.Outside, h.State = end, house.Air, w.Outside, *doing
	h.Vapour, h.VentPerH = house.Vapour, c.p.flux.VentPerH
	stores := c.p.beds[:len(c.p.s.House.Decide.Stores)]
	for i, b := range stores {
		between := b.Read(betweenSpot)
		if i == 0 {
			h.Root, h.Between = b.Read(rootSpot), between
		}
		h.Soil += between / unit.Celsius(len(stores))
	}
	c.r.Trace = append(c.r.Trace, h)
}

// monthOf is where a time is counted. The last hours of a trial may fall into a thirteenth month by
// the site's clock; they count in the last.
func (c *count) monthOf(now time.Time) *Month {
	if c.seen == 0 || c.r.Months[c.seen-1].Month != now.Month() && c.seen < len(c.r.Months) {
		c.seen++
		c.r.Months[c.seen-1] = Month{Month: now.Month(), Low: unit.Celsius(math.Inf(1))}
	}
	return &c.r.Months[c.seen-1]
}

// Total is the sum of all months, with the lowest of the lows.
func (r *Result) Total() Month {
	t := Month{Low: unit.Celsius(math.Inf(1))}
	for i := range r.Months {
		m := &r.Months[i]
		for a := range m.StateS {
			t.StateS[a] += m.StateS[a]
		}
		t.FanKWh += m.FanKWh
		t.InKWh += m.InKWh
		t.OutKWh += m.OutKWh
		t.LatentKWh += m.LatentKWh
		t.Low = min(t.Low, m.Low)
		t.FrostS += m.FrostS
		t.FrostKS += m.FrostKS
		t.HeaterKWh += m.HeaterKWh
		t.Electricity += m.Electricity
		t.Fuel += m.Fuel
	}
	return t
}
