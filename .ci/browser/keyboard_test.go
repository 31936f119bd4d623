package browser_test

import (
	"context"
	"syscall"
	"testing"

	"github.com/chromedp/chromedp"
)

// reachable are the places that a keyboard must come by, each with its number, in the page's order.
const reachable = `(() => { window.places = [...document.querySelectorAll("a[href], summary, [tabindex='0'], button, input")].filter(e => e.checkVisibility());
return window.places.length })()`

// focused is which place has the focus, -1 for none, and whether that is seen.
const focused = `(() => { const e = document.activeElement, r = e.getBoundingClientRect();
return {place: window.places.indexOf(e), seen: getComputedStyle(e).outlineStyle !== "none" && r.width > 0 && r.left >= 0 && r.right <= innerWidth + 1} })()`

// byKeyboard goes through a house's page with the Tab key, and opens what is closed with Enter. The
// daemon is gone by then, so that nothing on the page changes meanwhile.
func byKeyboard(t *testing.T, browser context.Context, program string) {
	d := still(t, program)
	x := open(t, browser, screens[0], d.address)
	x.expect("net::ERR_")
	x.do(chromedp.Navigate(d.url("/house?name=lower")))
	d.end(syscall.SIGKILL)
	n := evaluate[int](x, reachable)
	if n < 6 {
		t.Fatalf("only %d places can be reached", n)
	}
	for want := range n {
		x.do(chromedp.KeyEvent("\t"))
		at := evaluate[struct {
			Place int  `json:"place"`
			Seen  bool `json:"seen"`
		}](x, focused)
		if at.Place != want || !at.Seen {
			t.Errorf("after %d times Tab the place is %d (seen: %v): %s", want+1, at.Place, at.Seen, evaluate[string](x, `document.activeElement.outerHTML.slice(0, 200)`))
		}
	}
	evaluate[bool](x, `document.querySelector("article summary").focus() ?? true`)
	x.do(chromedp.KeyEvent("\r"))
	if !evaluate[bool](x, `document.querySelector("article details").open`) {
		t.Error("Enter does not open what is closed")
	}
}
