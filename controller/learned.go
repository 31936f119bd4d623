package controller

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/commission"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/learn"
	"loambank/controller/lesson"
	"loambank/controller/season"
	"loambank/controller/whole"
)

// learned is what was found out of a house, under its stores' names: plain data that survives JSON.
type learned struct {
	Stores []string     `json:"stores"`
	Params learn.Params `json:"params"`
	Saving marks        `json:"saving,omitzero"`
	Low    *typedLow    `json:"low,omitempty"`
	// Watch is what was seen of the fans since the round that began then.
	Watch        commission.Watch `json:"watch,omitzero"`
	WatchedSince time.Time        `json:"watched_since,omitzero"`
}

// of returns what was learned for the stores of h, each what was learned of the one of its name.
func (l *learned) of(h *config.House) learn.Params {
	p := l.Params
	p.Stores = [learn.MaxStores]learn.StoreParams{}
	for i := range h.House.Decide.Stores {
		if k := slices.Index(l.Stores, h.House.Decide.Stores[i].Name); k >= 0 && k < learn.MaxStores {
			p.Stores[i] = l.Params.Stores[k]
		}
	}
	return p
}

// know is what the house has learned, under names.
func (r *runner) know() learned {
	l := learned{Params: r.learnt, Saving: r.savings.marks, Low: r.typed.Load(), Watch: r.watch, WatchedSince: r.watchedSince}
	for i := range r.s.House.Decide.Stores {
		l.Stores = append(l.Stores, r.s.House.Decide.Stores[i].Name)
	}
	return l
}

// trust gives decisions what is learned well enough. It is called once a day, where the journal notes
// what the house remembers, so that a replay decides alike.
func (r *runner) trust() {
	for i := range r.s.House.Decide.Stores {
		r.house.Learn(i, r.trusted(i))
	}
}

// trusted is what is learned of store i, the zero value where that is not enough.
func (r *runner) trusted(i int) decide.Learned {
	if x, enough := r.learnt.Settled(&r.learns, i); enough {
		return decide.Learned{FlowM3s: x.FlowM3s, NTU: x.NTU, NearKW: x.NearKW, FilmNTU: x.FilmNTU}
	}
	return decide.Learned{}
}

// trustSaved is trust for a house that is about to be restored: its fans may be others now.
func (r *runner) trustSaved(saved *house.Saved) {
	for k := range saved.Stores {
		i := slices.IndexFunc(r.s.House.Decide.Stores, func(s decide.Store) bool { return s.Name == saved.Stores[k].Name })
		if i >= 0 {
			saved.Stores[k].Learned = r.trusted(i)
		}
	}
}

// learn takes in what the tick read and what the fans did up to it.
func (r *runner) learn(result *house.Result, stepS float64) {
	x := lesson.Sample(&r.s.House, result, &r.inForce, r.house.Decided().Slot.Night, stepS)
	r.learnt = learn.Update(&r.learns, r.learnt, x)
}

// Found is what was learned of a house so far, for people: values with their errors, how the two
// accounts of each store's heat agree, and what looks wrong. Stores are in the order of the settings.
type Found struct {
	House    learn.HouseValues
	Stores   []learn.Values
	Balances []learn.Balance
	Notices  []learn.Notice
}

// found is what was learned so far.
func (r *runner) found() Found {
	f := Found{House: r.learnt.HouseValues(&r.learns), Notices: r.learnt.Notices(&r.learns)}
	for i := range r.s.House.Decide.Stores {
		f.Stores = append(f.Stores, r.learnt.Values(&r.learns, i))
		f.Balances = append(f.Balances, r.learnt.Balance(i))
	}
	return f
}

// typedLow is how cold a person expects the night to get, and until when that holds.
type typedLow struct {
	C     unit.Celsius `json:"celsius"`
	Until time.Time    `json:"until"`
}

// nextNoon is the noon that follows a time, by its own clock.
func nextNoon(now time.Time) time.Time {
	day := now.Day()
	if now.Hour() >= 12 {
		day++
	}
	return time.Date(now.Year(), now.Month(), day, 12, 0, 0, 0, now.Location())
}

// low is what a person expects of tonight, while that holds.
func (r *runner) low(now time.Time) learn.Temp {
	if t := r.typed.Load(); t != nil && now.Before(t.Until) {
		return learn.Temp{C: t.C, Known: true}
	}
	return learn.Temp{}
}

// tonight is what is left in the stores.
func (r *runner) tonight(result *house.Result, now time.Time) learn.Tonight {
	d := &r.s.House.Decide
	p := &d.Policies[result.Decision.Window+1]
	x := learn.Now{Setpoint: p.Setpoint, Low: r.learnt.ExpectedLow(r.low(now), r.coldNight), NightS: r.nights.leftS(d.Season.Site, now)}
	for i := range d.Stores {
		s, sp := &result.Inputs.Stores[i], &p.Stores[i]
		x.Stores[i] = learn.StoreNow{
			Soil: learn.Temp{C: s.Soil.C, Known: s.Soil.Known}, Root: lesson.Temp(s.RootMin),
			Useful: max(p.Setpoint.Add(sp.Gain), sp.SoilFloor), Cap: learn.Temp{C: sp.SoilCap, Known: true},
		}
	}
	return r.learnt.Tonight(&r.learns, &x)
}

// night is from when to when the sun does not warm the house: from sunset to an hour after sunrise.
// The zero value is not known yet.
type night struct{ from, to time.Time }

// leftS is the time until the sun warms the house again, counted in full while it is up. It asks the
// almanac once a day, and after the clock was set back. Where the sun does not rise or set, it is half
// a day.
func (n *night) leftS(site season.Site, now time.Time) float64 {
	const polarS = 12 * 3600
	if !now.Before(n.to) || now.Before(n.to.AddDate(0, 0, -1)) {
		var known bool
		if *n, known = nightAt(site, now); !known {
			return polarS
		}
	}
	from := now
	if n.from.After(now) { // it is day: the whole night is to come
		from = n.from
	}
	return n.to.Sub(from).Seconds()
}

// sunrise is the one that ends the night, zero where it is not known.
func (n *night) sunrise() time.Time {
	if n.to.IsZero() {
		return time.Time{}
	}
	return n.to.Add(-warms)
}

// warms is how long after sunrise the sun warms the house.
const warms = time.Hour

// nightAt is the night that holds now, or the next; false where the sun does not rise or set.
func nightAt(site season.Site, now time.Time) (n night, known bool) {
	local := site.Local(now)
	for day := range 2 {
		at := local.AddDate(0, 0, day)
		d := season.DaylightOn(site, at.Year(), at.Month(), at.Day())
		if d.Polar != season.NotPolar {
			break
		}
		if up := d.Sunrise.Add(warms); up.After(now) {
			return night{season.DaylightOn(site, at.Year(), at.Month(), at.Day()-1).Sunset, up}, true
		}
	}
	return night{}, false
}

// learnedEvery is how often what was learned is written: it changes slowly, and is longer than all
// the rest.
const learnedEvery = time.Hour

// learnedSchema changes where what was kept would be taken for something else.
const learnedSchema = 2

// learnedFile is what learned files hold.
type learnedFile struct {
	Schema int                `json:"schema"` // learnedSchema
	Houses map[string]learned `json:"houses"`
}

func learnedPath(dir string) string { return filepath.Join(dir, "learned.json") }

// loadLearned reads what was learned. What cannot be read is learned anew.
func (k *keeper) loadLearned() {
	all, err := readLearned(k.dir)
	if err != nil {
		k.log.Error("what was learned cannot be read; the houses learn anew", keyError, err)
		return
	}
	k.learned = all
}

// readLearned reads what was learned of the houses; nothing where nothing was yet.
func readLearned(dir string) (map[string]learned, error) {
	path := learnedPath(dir)
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var f learnedFile
	if err := json.Unmarshal(text, &f); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if f.Schema != learnedSchema {
		return nil, fmt.Errorf("%s: it has form %d; this program reads form %d", path, f.Schema, learnedSchema)
	}
	return f.Houses, nil
}

// writeLearned writes what was learned, of houses that are gone too, if an hour has passed or the
// program ends.
func (k *keeper) writeLearned(now map[string]learned, ends bool) error {
	if at := time.Now(); ends || at.Sub(k.learnedAt) >= k.clock.machine(learnedEvery) {
		k.learnedAt = at
	} else {
		return nil
	}
	all := maps.Clone(k.learned)
	if all == nil {
		all = map[string]learned{}
	}
	maps.Copy(all, now)
	text, err := json.Marshal(&learnedFile{Schema: learnedSchema, Houses: all})
	if err != nil {
		return err
	}
	if err := whole.Write(learnedPath(k.dir), text); err != nil {
		return fmt.Errorf("what was learned: %w", err)
	}
	k.learned = all
	return nil
}
