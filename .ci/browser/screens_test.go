package browser_test

import (
	"context"
	"os"
	"testing"

	"github.com/chromedp/chromedp"
)

// axe returns the accessibility checker.
func axe(t *testing.T) string {
	t.Helper()
	script, err := os.ReadFile("testdata/axe-core/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	return string(script)
}

// accessible fails for each rule of the checker that the page breaks, with the elements that do.
func (x *tab) accessible(checker string) {
	x.t.Helper()
	x.do(chromedp.Evaluate[chromedp.Void](checker))
	found := evaluate[struct {
		Held   int      `json:"held"`
		Broken []string `json:"broken"`
	}](x, `axe.run(document).then(r => ({held: r.passes.length, broken: r.violations.map(v => v.id + ", " + v.help + ": " +
v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + " " + (n.any[0]?.message ?? "")).join("; "))}))`)
	for _, b := range found.Broken {
		x.t.Errorf("axe: %s", b)
	}
	if found.Held < 10 {
		x.t.Errorf("only %d rules of the checker hold of anything on the page", found.Held)
	}
}

// fits fails where a part of the page stands beside the screen.
func (x *tab) fits(width int64) {
	x.t.Helper()
	if got := evaluate[int64](x, `document.documentElement.scrollWidth`); got > width {
		x.t.Errorf("the page is %d px wide on a screen of %d", got, width)
	}
}

func onScreens(t *testing.T, browser context.Context, d *daemon) {
	checker := axe(t)
	for _, page := range []struct{ name, path string }{
		{"houses", "/"}, {"house", "/house?name=lower&range=day"}, {"unknown", "/house?name=%3Cscript%3E"},
	} {
		for _, s := range screens {
			t.Run(page.name+" on "+s.name, func(t *testing.T) {
				x := open(t, browser, s, d.address)
				if page.name == "unknown" {
					x.expect("404")
				}
				x.do(chromedp.Navigate(d.url(page.path)), chromedp.WaitVisible(chromedp.CSS("main")))
				if bytes, _ := x.loaded(); bytes == 0 || bytes > mostBytes {
					t.Errorf("the page loads %d bytes, at most %d are good", bytes, mostBytes)
				}
				x.drawn(s)
				x.picture(page.name + "-" + s.name)
				x.fits(s.width)
				x.look(screen{"narrow", 320, 640, s.scheme})
				x.fits(320)
				x.look(s)
				if s == screens[0] || s == screens[3] { // both widths, and both schemes of colours
					x.accessible(checker)
				}
			})
		}
	}
}
