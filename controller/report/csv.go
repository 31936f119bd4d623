package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"time"

	"loambank/config"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// WriteCSV writes the samples of all houses as a recording: a column for each probe, in its role's
// unit, then for each store the number of its state and the stage of each fan. A replay reads it; the
// columns of stores are not readings and are passed over. tell, which may be nil, is told of each
// day.
func WriteCSV(w io.Writer, h History, s *config.Settings, from, to time.Time, tell func(time.Time)) error {
	t := &table{csv: csv.NewWriter(w), zone: s.Site.Zone}
	t.header(s)
	if err := t.csv.Write(t.names); err != nil {
		return err
	}
	for day := from; day.Before(to); {
		next := day.AddDate(0, 0, 1)
		if next.After(to) {
			next = to
		}
		if err := t.day(h, s, day, next); err != nil {
			return err
		}
		if tell != nil {
			tell(next)
		}
		day = next
	}
	t.csv.Flush()
	return t.csv.Error()
}

// table is the recording that is written.
type table struct {
	csv   *csv.Writer
	zone  *time.Location
	names []string
	first map[string]int // the first column of each house
}

// unitOf is the ending of a column's name for a role.
func unitOf(r judge.Role) string {
	if r.Temperature() {
		return "degC"
	}
	switch r {
	case judge.Humidity:
		return "ratio"
	case judge.FanPower:
		return "W"
	case judge.Radon:
		return "Bqm3"
	case judge.CO2:
		return "ppm"
	case judge.Light:
		return "Wm2"
	}
	return "contact"
}

func (t *table) header(s *config.Settings) {
	t.names, t.first = []string{"time"}, map[string]int{}
	for i := range s.Houses {
		h := &s.Houses[i].House
		t.first[h.Name] = len(t.names)
		for _, p := range h.Probes {
			name := h.Name + "/"
			if p.Store != house.WholeHouse {
				name += h.Decide.Stores[p.Store].Name + "/"
			}
			t.names = append(t.names, name+p.Name+"_"+unitOf(p.Judge.Role))
		}
		for k := range h.Decide.Stores {
			store := &h.Decide.Stores[k]
			t.names = append(t.names, fmt.Sprintf("%s/%s/state", h.Name, store.Name))
			for _, f := range store.Fans {
				t.names = append(t.names, fmt.Sprintf("%s/%s/%s/stage", h.Name, store.Name, f.Name))
			}
		}
	}
}

// day writes the rows of a day, those of all houses at one time together.
func (t *table) day(h History, s *config.Settings, from, to time.Time) error {
	type stream struct {
		house *house.Settings
		next  func() (history.Sample, error, bool)
		now   history.Sample
		more  bool
	}
	var streams []*stream
	for i := range s.Houses {
		x := &stream{house: &s.Houses[i].House}
		next, stop := iter.Pull2(h.Samples(x.house.Name, from, to))
		defer stop()
		x.next = next
		streams = append(streams, x)
	}
	advance := func(x *stream) (err error) {
		x.now, err, x.more = x.next()
		return err
	}
	for _, x := range streams {
		if err := advance(x); err != nil {
			return err
		}
	}
	for {
		var at time.Time
		for _, x := range streams {
			if x.more && (at.IsZero() || x.now.At.Before(at)) {
				at = x.now.At
			}
		}
		if at.IsZero() {
			return nil
		}
		row := make([]string, len(t.names))
		row[0] = at.In(t.zone).Format(time.RFC3339)
		for _, x := range streams {
			for x.more && x.now.At.Equal(at) {
				t.fill(row, x.house, &x.now)
				if err := advance(x); err != nil {
					return err
				}
			}
		}
		if err := t.csv.Write(row); err != nil {
			return err
		}
	}
}

// fill writes a sample into its house's cells.
func (t *table) fill(row []string, h *house.Settings, x *history.Sample) {
	at := t.first[h.Name]
	for _, p := range h.Probes {
		if i := slices.Index(x.Layout.Probes, p.Name); i >= 0 && x.Probes[i].Quality.Usable() {
			row[at] = strconv.FormatFloat(x.Probes[i].Mean, 'f', -1, 64)
		}
		at++
	}
	for k := range h.Decide.Stores {
		store := &h.Decide.Stores[k]
		i := slices.IndexFunc(x.Layout.Stores, func(l history.StoreLayout) bool { return l.Name == store.Name })
		if i >= 0 {
			row[at] = strconv.Itoa(int(x.Stores[i].State))
		}
		at++
		for _, f := range store.Fans {
			if i >= 0 {
				if j := slices.Index(x.Layout.Stores[i].Fans, f.Name); j >= 0 {
					row[at] = strconv.Itoa(int(x.Stores[i].Stages[j]))
				}
			}
			at++
		}
	}
}
