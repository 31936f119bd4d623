package browser_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/history"
	"loambank/controller/judge"
)

// dayOver waits until the day on which the farm began is over and on the disk, and returns its midnights.
func dayOver(t *testing.T, d *daemon) (from, to time.Time) {
	t.Helper()
	s, err := config.Load(d.file("farm.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	began := d.shown().Houses[1].Time.In(s.Site.Zone)
	from = time.Date(began.Year(), began.Month(), began.Day(), 0, 0, 0, 0, s.Site.Zone)
	to = from.AddDate(0, 0, 1)
	eventually(t, "the farm's second day", func() bool { return d.shown().Houses[1].Time.After(to.Add(2 * time.Hour)) })
	return from, to
}

// drawn are the curves of a picture by their name, in the values of their axes: the axis is read from
// its own labels.
const drawn = `(() => { let axis = []; const all = {};
for (const e of document.documentElement.children) {
  const end = e.getAttribute("text-anchor") === "end" && e.getAttribute("x") === "54";
  if (e.tagName === "text" && end) {
    const v = Number(e.textContent.replace("−", "-"));
    if (Number.isNaN(v)) axis = []; else axis.push([Number(e.getAttribute("y")) - 4, v]);
  }
  if (e.tagName !== "path" || !e.querySelector("title")) continue;
  const [y0, v0] = axis[0], [y1, v1] = axis.at(-1), perPx = (v1 - v0) / (y1 - y0);
  const value = y => v0 + (y - y0) * perPx, box = e.getBBox();
  all[e.querySelector("title").textContent] = {points: [...e.getAttribute("d").matchAll(/[ML][\d.]+ ([\d.]+)/g)].map(m => value(Number(m[1]))), low: value(box.y + box.height),
    high: value(box.y), perPx: Math.abs(perPx)};
}
return all })()`

type curve struct {
	Points []float64 `json:"points"`
	Low    float64   `json:"low"`
	High   float64   `json:"high"`
	PerPx  float64   `json:"perPx"`
}

// near allows for the tenth of a pixel to which axis and curve are drawn.
func (c curve) near(got, want float64) bool { return math.Abs(got-want) <= 0.2*c.PerPx }

func drawsTheLedger(t *testing.T, browser context.Context, d *daemon, from, to time.Time) {
	x := open(t, browser, screens[2], d.address)
	x.do(chromedp.Navigate(d.url("/chart.svg?name=upper&range=day&width=960&until=" + from.Format(time.DateOnly))))
	day := evaluate[map[string]curve](x, drawn)
	x.do(chromedp.Navigate(d.url("/chart.svg?name=upper&range=year&width=960")))
	year := evaluate[map[string]curve](x, drawn)

	r, err := history.OpenReader(d.file("state"))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for probe, name := range map[string]string{"air": "air", "outside": "outside", "deep": "18 in"} {
		low, high := extremes(t, r, probe, from, to)
		c, there := day[name]
		if !there || !c.near(c.Low, low) || !c.near(c.High, high) {
			t.Errorf("%s is drawn (%v) from %.2f to %.2f °F; the history has %.2f to %.2f", name, there, c.Low, c.High, low, high)
		}
	}
	totals, err := r.TotalsBefore("upper", to)
	if err != nil || totals == nil {
		t.Fatalf("the ledger's totals of the day: %v, %v", totals, err)
	}
	ran := totals.Stores[0].RunS / 3600
	c, there := year["fans of beds"]
	// The picture counts ticks as equally long and leaves out minutes without one. On a busy machine
	// this fast clock stretches some ticks over minutes, all of which the ledger counts.
	const uneven = 0.05
	skipped := skippedH(t, r, from, to)
	if !there || len(c.Points) == 0 || ran == 0 || math.Abs(c.Points[0]-ran) > 0.2*c.PerPx+uneven*ran+skipped {
		t.Errorf("the fan is drawn (%v) to have run %.3f h on each day; the ledger has %.3f h on the first, of which %.3f h are in no sample", there, c.Points, ran, skipped)
	}
}

// skippedH is how much time since the first sample of upper lies in none, or in one of which ticks are
// missing, h: a tick is a minute.
func skippedH(t *testing.T, r *history.Reader, from, to time.Time) (h float64) {
	t.Helper()
	end := time.Time{}
	for s, err := range r.Samples("upper", from, to) {
		if err != nil {
			t.Fatal(err)
		}
		if !end.IsZero() {
			h += s.At.Sub(end).Hours()
		}
		length := time.Duration(s.StepS) * time.Second
		end = s.At.Add(length)
		h += max(0, length-time.Duration(s.Ticks)*time.Minute).Hours()
	}
	return h
}

// extremes are the least and the greatest reading of a probe of upper that the history has, °F.
func extremes(t *testing.T, r *history.Reader, probe string, from, to time.Time) (low, high float64) {
	t.Helper()
	low, high = math.Inf(1), math.Inf(-1)
	for s, err := range r.Samples("upper", from, to) {
		if err != nil {
			t.Fatal(err)
		}
		i := slices.Index(s.Layout.Probes, probe)
		if i < 0 {
			t.Fatalf("the history has no probe %s: %s", probe, fmt.Sprint(s.Layout.Probes))
		}
		if p := s.Probes[i]; p.Quality != judge.Bad {
			low, high = min(low, unit.Celsius(p.Min).Fahrenheit()), max(high, unit.Celsius(p.Max).Fahrenheit())
		}
	}
	return low, high
}
