package page

import (
	"context"
	"errors"
	"sync"
	"time"

	"loambank/controller/history"
)

// past reads the history for the page: one reading at a time, so that many phones cost the board
// no more than one, and keeps for a while what it has read.
type past struct {
	open func() (*history.Reader, error)
	now  func() time.Time
	turn chan struct{} // holds a token while the history is read

	mu      sync.Mutex
	then    map[thenKey]thenTotals
	records map[recordKey]*record
}

type thenKey struct {
	house string
	unix  int64
}

type thenTotals struct {
	totals *history.Totals
	read   time.Time
}

type recordKey struct {
	house    string
	from, to int64
}

const (
	keepTotals  = 5 * time.Minute // the last hour before midnight comes late to the disk
	keepRecord  = time.Minute
	mostRecords = 16
	mostThen    = 512
	readBudget  = 200 * time.Millisecond // what a request spends on accounts of houses; the rest comes with the next
)

func newPast(open func() (*history.Reader, error), now func() time.Time) *past {
	return &past{
		open: open, now: now, turn: make(chan struct{}, 1),
		then: map[thenKey]thenTotals{}, records: map[recordKey]*record{},
	}
}

// totals returns the counters of a house at a time, as they were last read; nil where there are none.
func (p *past) totals(house string, at time.Time) *history.Totals {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.then[thenKey{house, at.Unix()}].totals
}

// refresh reads the counters of houses at some times, where that is due. It does not wait for
// another reading, and ends when its budget is spent.
func (p *past) refresh(houses []string, at [2]time.Time) {
	due := p.due(houses, at)
	if p.open == nil || len(due) == 0 {
		return
	}
	select {
	case p.turn <- struct{}{}:
		defer func() { <-p.turn }()
	default:
		return
	}
	began := time.Now()
	r, err := p.open()
	if err != nil {
		p.put(due, nil) // asked again later
		return
	}
	defer r.Close()
	for _, key := range due {
		t, err := r.TotalsBefore(key.house, time.Unix(key.unix, 0))
		if err != nil {
			t = nil
		}
		p.put([]thenKey{key}, t)
		if time.Since(began) > readBudget {
			return
		}
	}
}

func (p *past) due(houses []string, at [2]time.Time) (due []thenKey) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	for _, house := range houses {
		for _, t := range at {
			key := thenKey{house, t.Unix()}
			if x, found := p.then[key]; !found || now.Sub(x.read) > keepTotals {
				due = append(due, key)
			}
		}
	}
	return due
}

func (p *past) put(keys []thenKey, t *history.Totals) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	for key, x := range p.then {
		if len(p.then) > mostThen && now.Sub(x.read) > keepTotals {
			delete(p.then, key)
		}
	}
	for _, key := range keys {
		p.then[key] = thenTotals{t, now}
	}
}

var errNoHistory = errors.New("no history is kept on this board; state a state directory to keep one")

// record returns what a house was in a period, at most a minute old. It waits for its turn, or for
// the asker to go.
func (p *past) record(ctx context.Context, q *question) (*record, error) {
	if p.open == nil {
		return nil, errNoHistory
	}
	key := recordKey{q.house.House.Name, q.from.Unix(), q.to.Unix()}
	if r := p.kept(key); r != nil {
		return r, nil
	}
	select {
	case p.turn <- struct{}{}:
		defer func() { <-p.turn }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	if r := p.kept(key); r != nil { // another has read it meanwhile
		return r, nil
	}
	reader, err := p.open()
	if err != nil {
		return nil, err
	}
	defer reader.Close()
	r, err := readRecord(ctx, reader, q)
	if err != nil {
		return nil, err
	}
	r.read = p.now()
	p.mu.Lock()
	defer p.mu.Unlock()
	for k, old := range p.records {
		if len(p.records) >= mostRecords || r.read.Sub(old.read) > keepRecord {
			delete(p.records, k)
		}
	}
	p.records[key] = r
	return r, nil
}

func (p *past) kept(key recordKey) *record {
	p.mu.Lock()
	defer p.mu.Unlock()
	if r := p.records[key]; r != nil && p.now().Sub(r.read) <= keepRecord {
		return r
	}
	return nil
}
