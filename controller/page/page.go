package page

import (
	"net/http"
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/history"
)

// Options is what a page is made from. View is needed; everything else may be left out.
type Options struct {
	// View returns the farm as of now. It must be safe from any goroutine.
	View func() *controller.View
	// History opens what is kept of the farm; whoever asked closes it. Nil is that nothing is kept:
	// the page then has no pictures, and accounts only since they began.
	History func() (*history.Reader, error)
	// Settings returns the settings in force, for units and the turn of the year. Nil is SI units and
	// a season from 10 September to 12 May.
	Settings func() *config.Settings
	// Learned tells what is left tonight and how full the stores are. Nil is that it is not known.
	Learned func(house string) *Learned
	// Beside answers what the page does not, and "/" for those who do not read HTML. Nil is 404.
	Beside http.Handler
	// Now is the machine's clock; nil is time.Now.
	Now func() time.Time
}

// Learned is what is known of a house's stores besides their temperature. Stores stand in the
// order of the settings; a store that is missing, or not Known, is not shown as anything.
type Learned struct {
	Tonight *Tonight
	Stores  []StoreLeft
}

// StoreLeft is what is left in one store.
type StoreLeft struct {
	Known        bool
	FillRatio    float64 // 0 at its useful temperature, 1 full
	AvailableKWh float64
	HoursLeftS   float64 // until it is down to its useful temperature, s; means nothing where Lasts
	Lasts        bool    // it holds through the night
}

// site is the page at work.
type site struct {
	o      Options
	past   *past
	assets assets
	lines  chan struct{} // one for each live connection
}

// mostLive bounds the live connections: a phone that left without a word holds one for a minute.
const mostLive = 64

// New returns the page's handler:
//
//	/                  every house, forty at a time: ?after=40
//	/house             one house with its pictures: ?name=lower&range=day&until=2026-01-21
//	/chart.svg         its picture, the same query and &width=
//	/live              server-sent events: each house's part of the page when it has ticked
//	/api/v1/farm       everything as JSON, see Farm
//
// and its own style, script and icon. All else is answered by Options.Beside.
func New(o Options) http.Handler {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Beside == nil {
		o.Beside = http.NotFoundHandler()
	}
	s := &site{o: o, past: newPast(o.History, o.Now), assets: loadAssets(), lines: make(chan struct{}, mostLive)}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.farm)
	mux.HandleFunc("GET /house", s.house)
	mux.HandleFunc("GET /chart.svg", s.chart)
	mux.HandleFunc("GET /live", s.live)
	mux.HandleFunc("GET /api/v1/farm", s.json)
	for _, a := range s.assets {
		mux.HandleFunc("GET /"+a.name, a.serve)
	}
	mux.Handle("/", o.Beside)
	return guarded(mux)
}

// policy lets a browser load only what this host serves, and no script or style that stands in a page.
const policy = "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

func guarded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// settings returns those in force, or what stands for them.
func (s *site) settings() *config.Settings {
	if s.o.Settings != nil {
		if found := s.o.Settings(); found != nil {
			return found
		}
	}
	return &config.Settings{Turn: usualTurn}
}
