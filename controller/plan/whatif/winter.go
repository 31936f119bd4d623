package whatif

import (
	"context"
	"fmt"
	"math"
	"time"

	"loambank/config"
	"loambank/controller/judge"
	"loambank/controller/learn"
	"loambank/controller/plan/tune"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

// Winter is a house on a recording that it learned from, to be lived through again under other
// settings. It may be lived through by several goroutines at once.
type Winter struct {
	First, Last time.Time
	Rows        int64
	// Lacks is why the house cannot live through it again, "" where it can.
	Lacks   string
	Metered bool // what the fans did in the recording was measured
	Learned learn.HouseValues
	Fit     Fit
	Blocks  []uint64 // of tune.BlockDays from First on, with air read in half of the time, by number

	farm config.Settings // of this house alone
	past *past
	rows *replay.Kept
	o    replay.Options
}

const (
	blockS = tune.BlockDays * 24 * hourS
	// PerDays is the time that an outcome of a block is told for, days: blocks of recordings of any
	// length compare.
	PerDays = 100
	// leastBlocks is how many blocks with readings a recording must have: two for the search and two to
	// judge it, under which nothing can be said of noise.
	leastBlocks = 4
)

// Learn calibrates a house on its recording, in which the settings were in force.
func Learn(s *config.Settings, h *config.House, rows *replay.Kept, o Options) (*Winter, error) {
	w := &Winter{farm: *s, rows: rows, o: replay.Options{From: o.From, Until: o.Until}}
	w.farm.Houses = []config.House{*h}
	w.First, w.Last = rows.Span(o.From, o.Until)
	w.past = newPast(h, w.First, w.Last)
	readS := make([]float64, 1+w.block(w.Last))
	learning := w.o
	learning.OnTick = func(t *replay.Tick) {
		w.past.take(h, t, o.Rested)
		if t.Result.Inputs.CropLow.Quality.Usable() {
			readS[w.block(t.Time)] += t.StepS
		}
	}
	sum, err := replay.Run(&w.farm, rows.Again(), learning)
	if err != nil {
		return nil, err
	}
	w.Rows, w.Metered = sum.Rows, w.past.metered
	w.Learned, w.Fit = w.past.params.HouseValues(&w.past.s), w.past.fit()
	for i, s := range readS {
		if s >= blockS/2 {
			w.Blocks = append(w.Blocks, uint64(i))
		}
	}
	if w.Lacks = w.past.lacks(h); w.Lacks == "" && len(w.Blocks) < leastBlocks {
		w.Lacks = fmt.Sprintf("the recording has %d blocks of %d days with air read in half of the time; it takes %d, "+
			"half of them to judge by", len(w.Blocks), tune.BlockDays, leastBlocks)
	}
	return w, nil
}

func (w *Winter) block(at time.Time) int { return int(at.Sub(w.First).Seconds() / blockS) }

// Seen and Unseen are the blocks of ten days that a search sees and that judge it, by number and in turn.
func (w *Winter) Seen() []uint64 { return alternate(w.Blocks, 0) }

// Unseen is described at Seen.
func (w *Winter) Unseen() []uint64 { return alternate(w.Blocks, 1) }

func alternate(all []uint64, from int) (some []uint64) {
	for i := from; i < len(all); i += 2 {
		some = append(some, all[i])
	}
	return some
}

// Live lets the house live through the whole recording under h, its own with other numbers, and tells
// of some blocks, each for PerDays days. A heater's fuel is counted in whole, by the house's balance.
func (w *Winter) Live(ctx context.Context, h *config.House, blocks []uint64) ([]tune.Outcome, error) {
	return w.live(ctx, h, blocks, &w.past.params.Twins(&w.past.s)[0])
}

func (w *Winter) live(ctx context.Context, h *config.House, blocks []uint64, twin *learn.Twin) ([]tune.Outcome, error) {
	farm := w.farm
	farm.Houses = []config.House{*h}
	f := &follower{h: h, past: w.past, twin: twin}
	c := counter{w: w, f: f, blocks: make([]tune.Outcome, 1+w.block(w.Last)), priced: h.House.Decide.Tariff.HasElectricity}
	for i := range c.blocks {
		c.blocks[i].LowC = math.Inf(1)
	}
	o := w.o
	o.Amend = func(_ int, raw []judge.Raw) { f.amend(raw) }
	o.OnTick = func(t *replay.Tick) { f.take(t); c.take(t) }
	if _, err := replay.Run(&farm, &until{w.rows.Again(), ctx}, o); err != nil {
		return nil, err
	}
	var some []tune.Outcome
	for _, b := range blocks {
		some = append(some, c.blocks[b].Times(PerDays/float64(tune.BlockDays)))
	}
	return some, nil
}

// until ends rows when ctx does.
type until struct {
	replay.Rows
	ctx context.Context
}

// Next is the next row, or why there is none.
func (u *until) Next(row *recording.Row) error {
	if err := u.ctx.Err(); err != nil {
		return err
	}
	return u.Rows.Next(row)
}

// counter tells by blocks what a replay adds up to.
type counter struct {
	w      *Winter
	f      *follower
	blocks []tune.Outcome
	last   tune.Outcome // the sums so far
	priced bool
}

func (c *counter) take(t *replay.Tick) {
	a := t.Sum.Account
	now := tune.Outcome{Cost: a.ElectricityMoney + c.f.fuel, RiskH: t.Sum.FrostS / hourS, FanH: tune.FanH(&a.StateS)}
	if !c.priced {
		now.Cost = 0
		for i := range a.Stores {
			for j := range a.Stores[i].Fans {
				now.Cost += a.Stores[i].Fans[j].EnergyKWh
			}
		}
	}
	b := &c.blocks[c.w.block(t.Time)]
	b.Cost += now.Cost - c.last.Cost
	b.RiskH += now.RiskH - c.last.RiskH
	b.FanH += now.FanH - c.last.FanH
	if air := t.Result.Inputs.CropLow; air.Quality.Usable() {
		b.LowC = min(b.LowC, float64(air.C))
	}
	c.last = now
}

// Gain is how much better one house is than today's in some blocks. Its ± joins that of the blocks with
// that of what was learned.
func (w *Winter) Gain(ctx context.Context, better, today *config.House, blocks []uint64, riskCost float64) (g tune.Gain, err error) {
	twins := [2][]learn.Twin{w.past.params.Twins(&w.past.s), w.past.params.Twins(&w.past.s)}
	means := make([]float64, len(twins[0]))
	for k := range means {
		var sides [2]tune.Trial
		for i, h := range [2]*config.House{better, today} {
			if sides[i].Years, err = w.live(ctx, h, blocks, &twins[i][k]); err != nil {
				return tune.Gain{}, err
			}
		}
		gain := tune.GainOver(&sides[0], &sides[1], riskCost)
		if means[k] = gain.Mean; k == 0 {
			g = gain
		}
	}
	g.Spread = math.Hypot(g.Spread, 2*math.Sqrt(variance(means)))
	return g, nil
}
