package browser_test

import (
	"context"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"loambank/config"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/sentence"
)

// mostBytes is the most that a page may load with all that belongs to it.
const mostBytes = 150_000

func TestPages(t *testing.T) {
	browser, program := startChromium(t), buildDaemon(t)
	t.Run("the sentence is the journal's", func(t *testing.T) { sentenceIsTheJournals(t, browser, program) })
	t.Run("a new reading arrives by itself, and the lack of one is said", func(t *testing.T) { staysLive(t, browser, program) })
	t.Run("the page says it all without JavaScript", func(t *testing.T) { withoutScript(t, browser, program) })
	t.Run("a keyboard reaches all of it", func(t *testing.T) { byKeyboard(t, browser, program) })
	t.Run("who may give orders", func(t *testing.T) { orders(t, browser, program) })
	d := busy(t, program)
	from, to := dayOver(t, d)
	t.Run("pages on every screen", func(t *testing.T) { onScreens(t, browser, d) })
	t.Run("the picture draws what the ledger and the history hold", func(t *testing.T) { drawsTheLedger(t, browser, d, from, to) })
	t.Run("the printable report", func(t *testing.T) { printable(t, browser, d, from, to) })
}

// leadAndRest reads the sentence from the page; both halves come from one reading of it, with the
// clock beside them, while the page goes on.
const leadAndRest = `(() => { const h = document.querySelector("article.house"); const of = s => (h.querySelector(s)?.textContent ?? "");
return [of(".clock time"), of(".lead"), of(".rest"), of(".store p")].map(s => s.replaceAll("\u00a0", " ").trim()) })()`

func sentenceIsTheJournals(t *testing.T, browser context.Context, program string) {
	d := still(t, program)
	x := open(t, browser, screens[0], d.address)
	seen, at := [4]string{}, time.Time{}
	eventually(t, "a page that was made between two looks at the same tick", func() bool {
		before := d.shown().Houses[0].Time
		x.do(chromedp.Navigate(d.url("/house?name=lower")))
		copy(seen[:], evaluate[[]string](x, leadAndRest))
		at = d.shown().Houses[0].Time
		return before.Equal(at)
	})
	if clock := at.Format("15:04"); !strings.HasSuffix(seen[0], clock) {
		t.Errorf("the page was read %q, want %s", seen[0], clock)
	}
	x.do(chromedp.Navigate("about:blank"))
	d.end(syscall.SIGTERM)
	told, state := journaled(t, d, at)
	if got := strings.TrimSpace(seen[1] + " " + seen[2]); got != told {
		t.Errorf("the page says %q; by the journal it is %q", got, told)
	}
	if !strings.HasPrefix(seen[3], state+",") {
		t.Errorf("the page says the store is at %q; by the journal it is at %s", seen[3], state)
	}
}

// journaled decides the tick of that time anew from the journal, and tells it.
func journaled(t *testing.T, d *daemon, at time.Time) (told, state string) {
	t.Helper()
	r, err := history.OpenReader(d.file("state"))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	s, err := config.Load(d.file("farm.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	var h *house.House
	for e, err := range r.Journal("lower", at.Add(-time.Hour), at.Add(time.Hour)) {
		switch {
		case err != nil:
			t.Fatal(err)
		case e.Mark != nil:
			h = house.Restore(&s.Houses[0].House, e.Mark.Saved)
			continue
		case h == nil:
			t.Fatal("the journal begins without a mark")
		}
		result := h.Tick(e.Seen, e.Now.In(s.Site.Zone))
		if history.Digest(&result.Decision) != e.Digest {
			t.Fatalf("%v decides otherwise now", e.Now)
		}
		if !e.Now.Equal(at) {
			continue
		}
		v := sentence.View{
			Settings: &s.Houses[0].House.Decide, Inputs: &result.Inputs, Decision: &result.Decision, State: h.Decided(),
			Zone: s.Site.Zone,
		}
		for _, verdict := range result.Verdicts {
			v.OldestS = max(v.OldestS, verdict.AgeS)
		}
		return sentence.Speaker{Display: s.Display}.Tell(v), result.Decision.Stores[0].State.String()
	}
	t.Fatalf("the journal has no tick of %v", at)
	return "", ""
}

func staysLive(t *testing.T, browser context.Context, program string) {
	d := still(t, program)
	x := open(t, browser, screens[0], d.address)
	x.do(chromedp.Navigate(d.url("/")), chromedp.WaitVisible(chromedp.CSS(".lead")))
	if got := x.text("dd"); got != "35 °F" {
		t.Fatalf("the house is at %s, want 35 °F", got)
	}
	evaluate[bool](x, `window.stayed = true`)
	write(t, d.file("air"), "11.0\n")
	eventually(t, "the new reading on the page", func() bool { return x.text("dd") == "52 °F" })
	if !evaluate[bool](x, `window.stayed === true`) {
		t.Error("the page was loaded again")
	}
	if evaluate[bool](x, `!document.querySelector(".gone").hidden`) {
		t.Error("no contact is said while the house ticks")
	}

	x.expect("net::ERR_") // what a browser says of a host that is gone
	clock := evaluate[string](x, `document.querySelector("article.house").dataset.clock`)
	d.end(syscall.SIGKILL)
	eventually(t, "the page to say that there is no contact", func() bool { return evaluate[bool](x, `!document.querySelector(".gone").hidden`) })
	last := evaluate[string](x, `document.querySelector("article.house").dataset.clock`)
	want := "No contact since " + last + "."
	if got := x.text(".gone strong"); got != want || last < clock {
		t.Errorf("the page says %q, want %q", got, want)
	}
	if got := x.text("#contact"); !strings.Contains(got, "lower: no contact since "+last) {
		t.Errorf("what is read aloud is %q", got)
	}
	x.picture("no-contact")
}

func withoutScript(t *testing.T, browser context.Context, program string) {
	d := still(t, program)
	x := open(t, browser, screens[0], d.address)
	off := emulation.SetScriptExecutionDisabledParams{Value: true}
	if _, err := chromedp.Call(x.ctx, emulation.SetScriptExecutionDisabled, off); err != nil {
		t.Fatal(err)
	}
	x.do(chromedp.Navigate(d.url("/house?name=lower")))
	body := x.text("main")
	for _, want := range []string{"35 °F", "57 °F", "25 °F", "frost, fans on", "Fan hours"} {
		if !strings.Contains(body, want) {
			t.Errorf("%q does not stand on the page:\n%s", want, body)
		}
	}
	if _, n := x.loaded(); n < 2 {
		t.Errorf("%d requests were seen, want the page and its style at least", n)
	}
}
