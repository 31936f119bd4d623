package browser_test

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// screen is what a page is looked at with.
type screen struct {
	name          string
	width, height int64
	scheme        string // of colours, light or dark
}

var screens = [...]screen{
	{"phone-light", 360, 740, "light"},
	{"phone-dark", 360, 740, "dark"},
	{"desk-light", 1280, 900, "light"},
	{"desk-dark", 1280, 900, "dark"},
}

// startChromium starts a browser that can reach nothing but this host. It ends with the test.
func startChromium(t *testing.T) context.Context {
	t.Helper()
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]),
		chromedp.ExecPath(program(t, "chromium")), chromedp.UserDataDir(t.TempDir()), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.IgnoreCertErrors, // of a test's own authority
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
	)
	ctx, end := chromedp.NewExecAllocator(context.WithoutCancel(t.Context()), options...)
	t.Cleanup(end)
	ctx, cancel := chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// tab is one page of the browser, with nothing left of earlier ones: no cache and no password.
type tab struct {
	t   *testing.T
	ctx context.Context

	mu    sync.Mutex
	asked []string // every URL that was asked for
	bytes int64    // that came over the network
	wrong []string // what the page wrote to the console as an error

	expected []string // errors that a test causes
}

// open opens an empty tab on a screen. It is closed with the test, which fails where the page asked
// for anything of another host than home, or wrote of an error.
func open(t *testing.T, browser context.Context, s screen, home string) *tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	ctx, expire := context.WithTimeout(ctx, 3*time.Minute)
	x := &tab{t: t, ctx: ctx}
	t.Cleanup(func() {
		defer cancel()
		defer expire()
		x.mu.Lock()
		defer x.mu.Unlock()
		for _, raw := range x.asked {
			if u, err := url.Parse(raw); err != nil || u.Host != home && u.Scheme != "data" {
				t.Errorf("the page asks for %s, which is not on %q", raw, home)
			}
		}
		for _, w := range x.wrong {
			if !slices.ContainsFunc(x.expected, func(text string) bool { return strings.Contains(w, text) }) {
				t.Errorf("the browser's console: %s", w)
			}
		}
	})
	if err := chromedp.Listen(ctx, x.note); err != nil {
		t.Fatal(err)
	}
	console := chromedp.Console(ctx)
	go func() {
		for m, err := range console {
			if err != nil {
				return
			}
			if m.Type == chromedp.ConsoleError || m.IsException() {
				x.mu.Lock()
				x.wrong = append(x.wrong, m.String())
				x.mu.Unlock()
			}
		}
	}()
	x.look(s)
	return x
}

// look changes the screen.
func (x *tab) look(s screen) {
	x.t.Helper()
	_, err := chromedp.Call(x.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: s.scheme}},
	})
	if err != nil {
		x.t.Fatal(err)
	}
	x.do(chromedp.EmulateViewport(s.width, s.height))
}

// note runs on the goroutine that reads what the browser says.
func (x *tab) note(event any) {
	x.mu.Lock()
	defer x.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		x.asked = append(x.asked, e.Request.URL)
	case *network.EventDataReceived:
		x.bytes += max(e.EncodedDataLength, e.DataLength)
	}
}

// loaded is how many bytes came over the network, and by how many requests.
func (x *tab) loaded() (bytes int64, requests int) {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.bytes, len(x.asked)
}

// expect names an error that the test causes on purpose.
func (x *tab) expect(text string) {
	x.mu.Lock()
	defer x.mu.Unlock()
	x.expected = append(x.expected, text)
}

func (x *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	x.t.Helper()
	if err := chromedp.Do(x.ctx, steps...); err != nil {
		x.t.Fatal(err)
	}
}

// evaluate returns what a script finds in the page, also one that it has to wait for.
func evaluate[T any](x *tab, script string) T {
	x.t.Helper()
	v, err := chromedp.Run(x.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		x.t.Fatalf("%v\n%s", err, script)
	}
	return v
}

// text returns the text of the first element that a selector finds, as it is shown. It is one look at
// the page, which goes on meanwhile.
func (x *tab) text(selector string) string {
	x.t.Helper()
	text := evaluate[string](x, fmt.Sprintf(`document.querySelector(%q)?.innerText ?? "(nothing)"`, selector))
	return strings.ReplaceAll(strings.TrimSpace(text), "\u00a0", " ")
}

// drawn waits until each picture is there, in the width that is meant for the screen: a browser may
// ask for another one before it knows how wide the screen is.
func (x *tab) drawn(s screen) {
	x.t.Helper()
	width := 960
	if s.width <= 640 {
		width = 360
	}
	eventually(x.t, fmt.Sprintf("pictures of %d px", width), func() bool {
		return evaluate[bool](x, fmt.Sprintf(`[...document.images].every(i => i.complete && i.naturalWidth === %d)`, width))
	})
}

// painted waits until what is loaded stands on the screen.
const painted = `Promise.all([...document.images].map(i => i.decode())).then(() =>
new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(true)))))`

// picture keeps what the whole page looks like, where that is asked for.
func (x *tab) picture(name string) {
	x.t.Helper()
	dir := os.Getenv("LOAMBANK_TEST_PICTURES")
	if dir == "" {
		return
	}
	evaluate[bool](x, painted)
	png, err := chromedp.Run(x.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		x.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		x.t.Fatal(err)
	}
}
