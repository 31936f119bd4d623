package page_test

import (
	"net/http/httptest"
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/page"
)

// TestHistoryIsReadOnceForMany counts how often it is opened.
func TestHistoryIsReadOnceForMany(t *testing.T) {
	f := live(t, 1)
	opened, now := 0, machine
	o := f.options()
	o.Now = func() time.Time { return now }
	o.History = func() (*history.Reader, error) {
		opened++
		return history.OpenReader(f.dir)
	}
	h := page.New(o)
	ask := func(path string) {
		r := httptest.NewRequest("GET", path, nil)
		r.Header.Set("Accept", "text/html")
		h.ServeHTTP(httptest.NewRecorder(), r)
	}
	for _, tt := range []struct {
		name, path string
		after      time.Duration
		want       int
	}{
		{"the first page reads the accounts", "/", 0, 1},
		{"the next does not", "/", 0, 1},
		{"a house's page reads its record", "/house?name=lower", 0, 2},
		{"its picture has it already", "/chart.svg?name=lower&width=960", 0, 2},
		{"also a narrow one", "/chart.svg?name=lower&width=360", time.Minute, 2},
		{"after a minute the record is old", "/chart.svg?name=lower", time.Second, 3},
		{"the accounts are not", "/", 0, 3},
		{"after five minutes they are", "/", 5 * time.Minute, 4},
		{"another time is another record", "/chart.svg?name=lower&range=week", 0, 5},
	} {
		now = now.Add(tt.after)
		if ask(tt.path); opened != tt.want {
			t.Errorf("%s: opened %d times, want %d", tt.name, opened, tt.want)
		}
	}
}
