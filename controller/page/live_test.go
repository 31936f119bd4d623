package page

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/decide"
	"loambank/controller/house"
)

// listener is a browser that keeps what it was sent.
type listener struct {
	*httptest.ResponseRecorder
	mu   sync.Mutex
	text strings.Builder

	patient bool // nothing limits how long it may be silent
}

func (l *listener) SetReadDeadline(at time.Time) error {
	l.patient = at.IsZero()
	return nil
}

func (l *listener) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

func (l *listener) Flush() {}

// heard returns what came since the last time.
func (l *listener) heard() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	defer l.text.Reset()
	return l.text.String()
}

// stub is a house that has just ticked.
func stub(name, sentence string) *controller.Snapshot {
	set := &config.House{House: house.Settings{Name: name}}
	set.House.Decide.Stores = []decide.Store{{Name: "beds"}}
	return &controller.Snapshot{Settings: set, Time: time.Now(), Ticked: time.Now(), Tick: 10 * time.Second, Sentence: sentence, Decision: decide.Decision{Window: -1}}
}

func TestAHouseIsSentWhenItHasTicked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var now atomic.Pointer[controller.View]
		show := func(all ...*controller.Snapshot) {
			v := &controller.View{Believed: true, Reloaded: true}
			for _, s := range all {
				v.Houses = append(v.Houses, controller.Shown{Snapshot: s})
			}
			now.Store(v)
		}
		lower, upper := stub("lower", "All well. Nothing to do."), stub("upper", "Also well.")
		show(lower, upper)
		h := New(Options{View: now.Load})
		ctx, leave := context.WithCancel(t.Context())
		l := &listener{ResponseRecorder: httptest.NewRecorder()}
		left := make(chan struct{})
		go func() {
			defer close(left)
			h.ServeHTTP(l, httptest.NewRequestWithContext(ctx, http.MethodGet, "/live", nil))
		}()
		synctest.Wait()
		first := l.heard()
		if strings.Count(first, "event: house\n") != 2 || !strings.Contains(first, "All well.") || l.Header().Get("Content-Type") != "text/event-stream" {
			t.Errorf("at first: %q", first)
		}
		for line := range strings.Lines(first) {
			if line != "\n" && !strings.HasPrefix(line, "data: ") && !strings.HasPrefix(line, "event: ") && !strings.HasPrefix(line, ":") && !strings.HasPrefix(line, "retry: ") && line != "data: \n" {
				t.Errorf("no line of an event: %q", line)
			}
		}
		time.Sleep(5 * time.Second)
		synctest.Wait()
		if text := l.heard(); text != "" {
			t.Errorf("nothing has ticked, and still: %q", text)
		}
		show(lower, stub("upper", "Colder now."))
		time.Sleep(time.Second)
		synctest.Wait()
		if text := l.heard(); strings.Count(text, "event: house\n") != 1 || !strings.Contains(text, "Colder now") {
			t.Errorf("one has ticked: %q", text)
		}
		time.Sleep(sayEvery + time.Second)
		synctest.Wait()
		if text := l.heard(); text != ": still here\n\n" {
			t.Errorf("after a while: %q", text)
		}
		show(lower) // a reload took upper out
		time.Sleep(time.Second)
		leave()
		<-left
		if !l.patient {
			t.Error("a server that limits reading cuts the line")
		}
		if text := l.heard(); text != "" {
			t.Errorf("in the end: %q", text)
		}
	})
}

func TestALineTooManyIsRefused(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := &controller.View{Houses: []controller.Shown{{Snapshot: stub("lower", "All well.")}}}
		h := New(Options{View: func() *controller.View { return v }})
		ctx, leave := context.WithCancel(t.Context())
		var all sync.WaitGroup
		for range mostLive {
			all.Go(func() {
				h.ServeHTTP(&listener{ResponseRecorder: httptest.NewRecorder()}, httptest.NewRequestWithContext(ctx, http.MethodGet, "/live?name=lower", nil))
			})
		}
		synctest.Wait()
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/live", nil))
		if w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") == "" {
			t.Errorf("%d", w.Code)
		}
		leave()
		all.Wait()
		gone, leaveAtOnce := context.WithCancel(t.Context())
		leaveAtOnce()
		l := &listener{ResponseRecorder: httptest.NewRecorder()}
		h.ServeHTTP(l, httptest.NewRequestWithContext(gone, http.MethodGet, "/live", nil))
		if !strings.Contains(l.heard(), "All well.") {
			t.Error("there is no room once the others have gone")
		}
	})
}
