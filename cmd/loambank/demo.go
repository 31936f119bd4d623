package main

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"sync/atomic"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/history"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/report"
	"loambank/controller/web"
)

//go:embed demo.toml
var demoFarm []byte

type demoCommand struct {
	Days float64 `help:"Simulated days to show." default:"10"`
	Pace float64 `help:"Seconds for each simulated day." default:"2"`
}

// Help shows an example.
func (demoCommand) Help() string {
	return "Example:\n\n  loambank demo --days 30\n\n" +
		"Runs an invented farm through a simulated late autumn: the daemon itself, on simulated houses,\n" +
		"with its status page on loopback. On a terminal it shows the houses as they are, in a pipe it\n" +
		"writes a line a house and day."
}

// Run runs the demo.
func (c *demoCommand) Run(w *world) error {
	if !(c.Days > 0) || !(c.Pace > 0) {
		return errors.New("--days and --pace must be over 0")
	}
	s, err := config.Parse("demo.toml", demoFarm, nil)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", s.Listen)
	if err != nil { // a daemon runs already: any other port will do
		if listener, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
			return err
		}
	}
	first := time.Date(2026, time.October, 25, 6, 0, 0, 0, s.Site.Zone)
	clock := controller.Scaled(86400/c.Pace, first)
	farm, err := controller.New(w.ctx, s, controller.Options{Clock: clock})
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	var inForce atomic.Pointer[config.Settings]
	inForce.Store(s)
	defer serve(listener, pages(farm, &inForce, ""), web.Options{
		Listen: listener.Addr().String(), Log: slog.New(slog.NewTextHandler(w.stderr, nil)),
	})()

	ctx, stop := context.WithCancel(w.ctx)
	defer stop()
	stopped := make(chan error, 1)
	go func() { stopped <- farm.Run(ctx) }()
	show := &demoView{
		w: w, s: s, farm: farm, last: first.Add(time.Duration(c.Days * 24 * float64(time.Hour))),
		address: "http://" + listener.Addr().String() + "/",
	}
	show.run(ctx, clock)
	stop()
	return <-stopped
}

// demoView shows a farm at work.
type demoView struct {
	w       *world
	s       *config.Settings
	farm    *controller.Controller
	last    time.Time
	address string
	drawn   int // lines of the screen to draw over
}

// run shows the farm until its last day.
func (v *demoView) run(ctx context.Context, clock controller.Clock) {
	live := terminal(v.w.stdout)
	next := clock.Now().Add(24 * time.Hour)
	for {
		now := clock.Now()
		until := next
		if live {
			until = now.Add(20 * time.Minute)
		}
		if until.After(v.last) {
			until = v.last
		}
		if !clock.Sleep(ctx, until) {
			return
		}
		houses := v.farm.View().Houses
		if live {
			v.draw(houses)
		} else {
			v.line(houses)
			next = next.Add(24 * time.Hour)
		}
		if !until.Before(v.last) {
			v.saved(houses)
			return
		}
	}
}

// line writes a house's account so far.
func (v *demoView) line(houses []controller.Shown) {
	for _, s := range houses {
		t := history.TotalsOf(s.Account).All()
		fmt.Fprintf(v.w.stdout, "%s house=%s fan_hours=%.1f electricity_kwh=%.1f heat_in_kwh=%.0f heat_out_kwh=%.0f starts=%d\n",
			s.Time.In(v.s.Site.Zone).Format(time.DateOnly), s.Settings.House.Name, t.RunS/3600, t.EnergyKWh, t.In.KWh(), t.Out.KWh(), t.Starts)
	}
}

// saved closes the account: what the fans have saved in all.
func (v *demoView) saved(houses []controller.Shown) {
	p := &reportPrinter{w: v.w.stdout, s: v.s}
	for _, s := range houses {
		told := &s.Saved[ledger.Season]
		for _, row := range report.SavedRows([]*ledger.Saving{told}, v.s.Display) {
			p.printf("%s: %s %s\n", s.Settings.House.Name, row.Label, row.Cells[0])
		}
		p.told = append(p.told, told)
	}
	p.printf("\n")
	p.method()
}

// draw shows the houses over what was drawn before.
func (v *demoView) draw(houses []controller.Shown) {
	columns := width(v.w.stdout)
	var out strings.Builder
	if len(houses) > 0 {
		fmt.Fprintf(&out, "Fern Hollow, an invented farm in a simulated autumn. %s\n",
			houses[0].Time.In(v.s.Site.Zone).Format("Mon 2 Jan, 15:04"))
	}
	for _, s := range houses {
		t := history.TotalsOf(s.Account).All()
		fmt.Fprintf(&out, "\n%s: %s\n", s.Settings.House.Name, v.readings(s))
		fmt.Fprintf(&out, "  %s\n", wrap(s.Sentence, columns-2, 2))
		fmt.Fprintf(&out, "  So far: fans %.1f h, %.1f kWh; heat down %.0f kWh, up %.0f kWh, estimates.\n",
			t.RunS/3600, t.EnergyKWh, t.In.KWh(), t.Out.KWh())
	}
	fmt.Fprintf(&out, "\nStatus page: %s   Ctrl-C stops.\n", v.address)
	if v.drawn > 0 {
		fmt.Fprintf(v.w.stdout, "\x1b[%dA\x1b[J", v.drawn)
	}
	v.drawn = strings.Count(out.String(), "\n")
	fmt.Fprint(v.w.stdout, out.String())
}

// readings are what the house's probes say, in a line.
func (v *demoView) readings(s controller.Shown) string {
	var parts []string
	for i := range s.Settings.House.Probes {
		p, verdict := &s.Settings.House.Probes[i].Judge, &s.Verdicts[i]
		if !verdict.Quality.Usable() {
			continue
		}
		switch p.Role {
		case judge.Air, judge.Outside, judge.Soil:
			parts = append(parts, p.Role.String()+" "+v.s.Display.Temperature(unit.Celsius(verdict.Value)))
		case judge.Humidity:
			parts = append(parts, fmt.Sprintf("humidity %.0f %%", 100*verdict.Value))
		}
	}
	return strings.Join(parts, ", ")
}
