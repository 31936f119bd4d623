package controller

import (
	"context"
	"fmt"
	"math"
	"runtime/debug"
	"time"

	"loambank/controller/history"
	"loambank/controller/report"
	"loambank/controller/season"
)

// lookBackAt is when the farm looks back on its day, and at itself.
const lookBackAt = "5 0 * * *"

// lookBacks looks back once a day by the site's calendar until ctx is done. A day that the program
// slept through is not made up.
func (c *Controller) lookBacks(ctx context.Context, zone *time.Location) {
	schedule, err := season.ParseSchedule(lookBackAt, zone)
	if err != nil {
		c.log.Error("no day is looked back on", keyError, err) // the spec above is wrong
		return
	}
	s := season.Settings{Site: season.Site{Zone: zone}, Actions: []season.Schedule{schedule}}
	clock, last := c.board.clock, c.board.clock.Now()
	const nap = time.Hour // a clock may be set meanwhile
	for {
		next := season.NextDue(s, last)
		if soon := last.Add(nap); next.After(soon) {
			next = soon
		}
		if clock.sleep(ctx, next, nil) == stopped {
			return
		}
		now := clock.Now()
		if len(season.Due(nil, s, last, now)) > 0 && c.board.believed() {
			c.lookBack(now.In(zone))
		}
		last = now
	}
}

// lookBack writes a line of yesterday for every house, and one for everything that is wrong with the
// farm, into the log and the journal.
func (c *Controller) lookBack(now time.Time) {
	defer func() { // a mistake in looking back must not end the farm
		if fault := recover(); fault != nil {
			c.log.Error("looking back broke off, a mistake of the program", keyError, fault, keyStack, string(debug.Stack()))
		}
	}()
	troubles := c.View().Troubles()
	if db := c.board.history; db != nil {
		if err := db.Flush(); err != nil {
			troubles = append(troubles, fmt.Sprintf("The history cannot be written: %v", err))
		}
		if err := c.yesterday(now); err != nil {
			c.log.Error("yesterday cannot be looked back on", keyError, err)
		}
	}
	for _, text := range troubles {
		c.log.Warn("self-check", "found", text)
		if db := c.board.history; db != nil {
			db.Note(history.Note{At: now, Kind: history.FaultNote, UID: -1, Text: "self-check: " + text})
		}
	}
	if len(troubles) == 0 {
		c.log.Info("self-check passed")
	}
}

func (c *Controller) yesterday(now time.Time) error {
	r, err := history.OpenReader(c.board.keeper.dir)
	if err != nil {
		return err
	}
	defer r.Close()
	to := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	for _, x := range *c.runners.Load() {
		day, err := report.Gather(r, x.s, nil, to.AddDate(0, 0, -1), to)
		if err != nil {
			return err
		}
		var all history.StoreTotals
		for i := range day.Stores {
			all.Add(&day.Stores[i].StoreTotals, 1)
		}
		x.log.Info("yesterday", "fan_hours", round(all.RunS/3600), "starts", all.Starts, "electricity_kwh", round(all.EnergyKWh),
			"heat_in_kwh", round(all.In.KWh()), "heat_out_kwh", round(all.Out.KWh()), "lowest", x.speaker.Display.Temperature(day.Low.C),
			"frost_limit_hours", round(day.FrostS/3600), "faults", len(day.Faults), "orders_by_hand", len(day.Hands))
	}
	return nil
}

// round keeps a log line short.
func round(v float64) float64 { return math.Round(v*100) / 100 }
