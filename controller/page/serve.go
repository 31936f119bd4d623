package page

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"loambank/controller"
	"loambank/controller/history"
)

const (
	perPage  = 40 // houses on one page
	drawUpTo = 4  // with so many houses, each has its drawing on the first page
)

// frame is what the template "page" shows.
type frame struct {
	Title    string
	Live     string // where the page is kept live
	Made     string
	Farm     *Farm
	Panels   []*panel
	Home     bool
	Previous string // link to the houses before these
	Next     string
	Others   []link
	View     *view
}

type link struct {
	Name, To string
	Here     bool
}

// view is the pictures' part of a house's page.
type view struct {
	Title, Query   string
	Spans          []link
	Earlier, Later string
	Table          *table
	None           string // why there are no pictures
	About          string
}

func houseLink(name string) string { return "/house?name=" + url.QueryEscape(name) }

// farm serves every house.
func (s *site) farm(w http.ResponseWriter, r *http.Request) {
	if !readsHTML(r) {
		s.o.Beside.ServeHTTP(w, r)
		return
	}
	v := s.o.View()
	p, status, err := s.pickOf(r.URL.Query())
	if err != nil {
		fault(w, status, err)
		return
	}
	after := afterOf(r.URL.Query())
	f := &frame{Title: "Houses", Home: true, Live: "/live?after=" + strconv.Itoa(after), Farm: s.collect(v, p.choose(v))}
	if after > 0 {
		f.Previous = "/?after=" + strconv.Itoa(max(0, min(after, len(v.Houses))-perPage))
	}
	if after+perPage < len(v.Houses) {
		f.Next = "/?after=" + strconv.Itoa(after+perPage)
	}
	s.show(w, f, p)
}

// readsHTML reports whether an asker says that it does; a plain client takes anything.
func readsHTML(r *http.Request) bool { return strings.Contains(r.Header.Get("Accept"), "text/html") }

// house serves one house with its pictures.
func (s *site) house(w http.ResponseWriter, r *http.Request) {
	v := s.o.View()
	name := r.URL.Query().Get("name")
	shown, err := find(v, name)
	if err != nil {
		fault(w, http.StatusNotFound, err)
		return
	}
	q, err := askedOf(r.URL.Query(), shown.Snapshot, s.settings())
	if err != nil {
		fault(w, http.StatusBadRequest, err)
		return
	}
	f := &frame{Title: name, Live: "/live?name=" + url.QueryEscape(name), Farm: s.collect(v, []controller.Shown{shown})}
	if len(v.Houses) > 1 && len(v.Houses) <= perPage {
		for i := range v.Houses {
			n := v.Houses[i].Settings.House.Name
			f.Others = append(f.Others, link{n, houseLink(n), n == name})
		}
	}
	f.View = s.viewOf(r, q)
	s.show(w, f, &pick{whole: true, alone: true})
}

// viewOf is the pictures' part of a house's page.
func (s *site) viewOf(r *http.Request, q *question) *view {
	x := &view{Title: strings.ToUpper(q.title()[:1]) + q.title()[1:], Query: q.here()}
	for i := range spans {
		until := q.until
		if q.latest {
			until = midnight(q.now)
		}
		x.Spans = append(x.Spans, link{spans[i].label, "/house" + q.link(spans[i].word, until), &spans[i] == q.span})
	}
	x.Earlier = "/house" + q.link(q.span.word, q.earlier())
	if later := q.later(); !later.IsZero() {
		x.Later = "/house" + q.link(q.span.word, later)
	}
	rec, err := s.past.record(r.Context(), q)
	switch {
	case errors.Is(err, history.ErrNone):
		x.None = "Nothing is kept yet; the first picture comes with the first hour."
	case err != nil:
		x.None = "No pictures: " + err.Error() + "."
	case !rec.any:
		x.None = "Nothing was kept in " + q.title() + "."
	default:
		x.Table = tabulate(rec, q, s.settings().Display)
		x.About = "Temperatures, humidity and what the fans did, " + q.title() + ". The table below has the figures."
	}
	return x
}

// chart serves the picture of a house.
func (s *site) chart(w http.ResponseWriter, r *http.Request) {
	shown, err := find(s.o.View(), r.URL.Query().Get("name"))
	if err != nil {
		refuse(w, http.StatusNotFound, err.Error())
		return
	}
	q, err := askedOf(r.URL.Query(), shown.Snapshot, s.settings())
	if err != nil {
		refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	rec, err := s.past.record(r.Context(), q)
	if err != nil {
		refuse(w, http.StatusServiceUnavailable, err.Error())
		return
	}
	var b bytes.Buffer
	if err := plot(rec, q, s.settings().Display).WriteSVG(&b); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	h := w.Header()
	h.Set("Content-Type", "image/svg+xml")
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'") // the picture's own colours
	_, _ = w.Write(b.Bytes())                                                         // whoever asked has gone
}

// json serves the farm as data.
func (s *site) json(w http.ResponseWriter, _ *http.Request) {
	v := s.o.View()
	text, err := json.MarshalIndent(s.collect(v, v.Houses), "", "  ")
	if err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(append(text, '\n')) // whoever asked has gone
}

// pick says which houses of a view a page shows, and how.
type pick struct {
	choose func(*controller.View) []controller.Shown
	whole  bool // with its drawing and every probe
	alone  bool // it is the page's one house
}

// pickOf reads which houses are asked for. An error comes with its status.
func (s *site) pickOf(query url.Values) (*pick, int, error) {
	if name := query.Get("name"); name != "" {
		if _, err := find(s.o.View(), name); err != nil {
			return nil, http.StatusNotFound, err
		}
		one := func(v *controller.View) []controller.Shown {
			h, err := find(v, name)
			if err != nil { // a reload took it out
				return nil
			}
			return []controller.Shown{h}
		}
		return &pick{one, true, true}, 0, nil
	}
	after := afterOf(query)
	if after < 0 {
		return nil, http.StatusBadRequest, asked("after=%.20q is no number of houses; write after=0", query.Get("after"))
	}
	some := func(v *controller.View) []controller.Shown {
		return v.Houses[min(after, len(v.Houses)):min(after+perPage, len(v.Houses))]
	}
	return &pick{some, len(s.o.View().Houses) <= drawUpTo, false}, 0, nil
}

// afterOf is how many houses to pass over; negative is not a number.
func afterOf(query url.Values) int {
	text := query.Get("after")
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > 1e6 {
		return -1
	}
	return n
}

// find returns the house of that name. The error names those there are.
func find(v *controller.View, name string) (controller.Shown, error) {
	i := slices.IndexFunc(v.Houses, func(h controller.Shown) bool { return h.Settings.House.Name == name })
	if i >= 0 {
		return v.Houses[i], nil
	}
	if slices.Contains(v.Waiting, name) {
		return controller.Shown{}, fmt.Errorf("house %s has not been read yet; wait for its first tick", name)
	}
	var names []string
	for i := range v.Houses[:min(perPage, len(v.Houses))] {
		names = append(names, v.Houses[i].Settings.House.Name)
	}
	if more := len(v.Houses) - len(names); more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	if len(names) == 0 {
		return controller.Shown{}, fmt.Errorf("there is no house %.40q, and none has been read yet", name)
	}
	return controller.Shown{}, fmt.Errorf("there is no house %.40q; there are: %s", name, strings.Join(names, ", "))
}

// show renders a page whole, before a byte of it is sent.
func (s *site) show(w http.ResponseWriter, f *frame, p *pick) {
	f.Made = day(f.Farm.Time)
	for i := range f.Farm.Houses {
		f.Panels = append(f.Panels, panelOf(&f.Farm.Houses[i], p))
	}
	render(w, http.StatusOK, "page", f)
}

// fault tells a person what was wrong with what was asked.
func fault(w http.ResponseWriter, status int, err error) {
	text := strings.TrimPrefix(err.Error(), errAsked.Error()+": ")
	render(w, status, "fault", text)
}

func render(w http.ResponseWriter, status int, name string, data any) {
	var b bytes.Buffer
	if err := templates.ExecuteTemplate(&b, name, data); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // whoever asked has gone
}

// refuse answers a program in plain text.
func refuse(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	fmt.Fprintln(w, strings.TrimPrefix(text, errAsked.Error()+": "))
}
