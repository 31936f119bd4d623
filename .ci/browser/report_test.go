package browser_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// printable opens the report of a day of the farm from its file, as one that came by mail.
func printable(t *testing.T, browser context.Context, d *daemon, from, to time.Time) {
	checker := axe(t)
	between := []string{"--from", from.Format(time.DateOnly), "--until", to.Format(time.DateOnly)}
	d.asked(append([]string{"report", "--config", "farm.toml", "--html", "season.html"}, between...)...)
	told := map[string]float64{}
	for line := range strings.Lines(d.asked(append([]string{"report", "--config", "farm.toml", "--json"}, between...)...)) {
		var of struct {
			House  string `json:"house"`
			Stores []struct {
				EnergyKWh float64 `json:"fan_energy_kwh"`
			} `json:"stores"`
		}
		if err := json.Unmarshal([]byte(line), &of); err != nil {
			t.Fatal(err)
		}
		told[of.House] = of.Stores[0].EnergyKWh
	}
	for _, s := range []screen{screens[0], screens[2]} {
		t.Run(s.name, func(t *testing.T) {
			x := open(t, browser, s, "")
			x.do(chromedp.Navigate("file://" + d.file("season.html")))
			x.fits(s.width)
			x.picture("report-" + s.name)
			if s == screens[0] {
				x.accessible(checker)
			}
			if _, n := x.loaded(); n != 1 {
				t.Errorf("the report makes %d requests, want only that for itself", n)
			}
			rows := evaluate[[]string](x, `[...document.querySelectorAll("tbody tr")].map(r => [...r.children].map(c => c.textContent).join(" = "))`)
			for house, kWh := range told {
				if want := fmt.Sprintf("Electricity of beds = %.1f kWh", kWh); kWh == 0 || !strings.Contains(strings.Join(rows, "\n"), want) {
					t.Errorf("house %s: no row says %q:\n%s", house, want, strings.Join(rows, "\n"))
				}
			}
			if n := evaluate[int](x, `[...document.querySelectorAll("figure svg")].filter(s => s.getBoundingClientRect().height > 100).length`); n != 2 {
				t.Errorf("%d pictures are shown, want one for each of two houses", n)
			}
			paper := emulation.SetEmulatedMediaParams{Media: "print"}
			if _, err := chromedp.Call(x.ctx, emulation.SetEmulatedMedia, paper); err != nil {
				t.Fatal(err)
			}
			x.do(chromedp.EmulateViewport(680, 960)) // a sheet's width less its margins, px of 1/96 in
			x.fits(680)
			x.picture("report-paper")
		})
	}
}
