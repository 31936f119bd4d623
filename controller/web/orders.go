package web

import (
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"mime"
	"net/http"
	"slices"
	"sync"
	"time"

	"loambank/controller"
	"loambank/controller/hand"
)

// MaxOrder is how long an order over the network can hold: a night, not a season.
const MaxOrder = 12 * time.Hour

// OrderOptions is what orders over the network need. All are needed but Now.
type OrderOptions struct {
	Farm hand.Farm
	// Users returns the names that may give orders as the settings in force have them.
	Users func() []string
	Log   *slog.Logger
	// Now is the machine's clock, which only bounds how often; nil is time.Now.
	Now func() time.Time
}

// Orders answers a POST of a hand.Request as JSON with a hand.Answer, for a server of this package.
// It takes run, off and auto. Latched faults and smoke are cleared, and the bell is silenced, by who
// stands there.
//
//	403 without TLS and a proved name of Users, or with an Origin that is not this host
//	405, 415, 400 for what is no order
//	422 for one that is refused, with the reason
//	429 for more than a few in a minute
func Orders(o OrderOptions) http.Handler {
	if o.Now == nil {
		o.Now = time.Now
	}
	return &orders{o: o, left: mostOrders}
}

// Orders come from a person's fingers: so many at once, then one in so long, from all together.
const (
	mostOrders = 6
	orderEvery = 10 * time.Second
)

type orders struct {
	o OrderOptions

	mu   sync.Mutex
	left float64 // orders that may come at once, at most mostOrders
	at   time.Time
}

// ServeHTTP takes one order.
func (o *orders) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		answer(w, http.StatusMethodNotAllowed, "an order is sent by POST")
		return
	}
	name := person(r)
	switch {
	case name == "" || !slices.Contains(o.o.Users(), name):
		answer(w, http.StatusForbidden, "orders over the network need TLS and a user of `hand_users`; give this one at the board")
		return
	case r.Header.Get("Origin") != "https://"+r.Host:
		answer(w, http.StatusForbidden, "an order comes from this board's own page; send the header Origin: https://HOST")
		return
	}
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		answer(w, http.StatusUnsupportedMediaType, "an order is application/json")
		return
	}
	request, err := read(r.Body)
	if err != nil {
		answer(w, http.StatusBadRequest, err.Error())
		return
	}
	if !o.may() {
		w.Header().Set("Retry-After", fmt.Sprint(int(orderEvery.Seconds())))
		answer(w, http.StatusTooManyRequests, "too many orders in a minute; wait a while")
		return
	}
	given := hand.Obey(r.Context(), o.o.Farm, request, controller.Person{UID: -1, Name: name}, o.o.Log)
	status := http.StatusOK
	if given.Error != "" {
		status = http.StatusUnprocessableEntity
	}
	send(w, status, given)
}

// read reads one order of a kind that is taken here.
func read(body io.Reader) (*hand.Request, error) {
	decoder := json.NewDecoder(body)
	decoder.DisallowUnknownFields()
	var r hand.Request
	if err := decoder.Decode(&r); err != nil {
		return nil, fmt.Errorf("this is no order: %w", err)
	}
	if _, err := decoder.Token(); err != io.EOF {
		return nil, fmt.Errorf("something follows the order; send one")
	}
	switch r.Do {
	case hand.Run, hand.Off, hand.Auto:
	default:
		return nil, fmt.Errorf("%.20q is not taken over the network; send run, off or auto", r.Do)
	}
	if r.ForS > int64(MaxOrder/time.Second) {
		return nil, fmt.Errorf("an order over the network holds for 12 h at most; give a longer one at the board")
	}
	return &r, nil
}

// may reports whether one more order may come now.
func (o *orders) may() bool {
	o.mu.Lock()
	defer o.mu.Unlock()
	now := o.o.Now()
	if !o.at.IsZero() {
		o.left = min(mostOrders, o.left+max(0, now.Sub(o.at).Seconds())/orderEvery.Seconds())
	}
	o.at = now
	if o.left < 1 {
		return false
	}
	o.left--
	return true
}

func answer(w http.ResponseWriter, status int, fault string) {
	send(w, status, hand.Answer{Schema: 1, Error: fault})
}

func send(w http.ResponseWriter, status int, a hand.Answer) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(&a) // whoever asked has gone
}
