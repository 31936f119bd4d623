package replay

import (
	"errors"
	"fmt"
	"iter"
	"time"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
)

// Journal is where a daemon wrote what its houses were given and decided.
type Journal interface {
	Houses() []string
	Journal(house string, from, to time.Time) iter.Seq2[history.Entry, error]
	SettingsText(hash string) ([]byte, error)
}

// Compared is what the replay of a house's journal found.
type Compared struct {
	House       string
	First, Last time.Time
	Ticks       int64
	Passed      int64 // ticks that could not be replayed: before the first mark, or after a gap up to the next
	Gaps        int64
	Differ      int64
	// Differences are the first few.
	Differences []Difference
}

// Difference is a tick that decides otherwise than it did.
type Difference struct {
	Time     time.Time
	Decision decide.Decision // as it is now; the journal has only a digest of the old one
}

// mostShown bounds Compared.Differences.
const mostShown = 10

// CompareJournal replays a house's journal through the decisions of this program and compares each
// with the digest that was written: bit for bit, on the architecture it was written on. Settings are
// those of the journal itself.
func CompareJournal(j Journal, name string, from, to time.Time) (*Compared, error) {
	c := &comparison{j: j, sum: &Compared{House: name}, farms: map[string]*config.Settings{}}
	for e, err := range j.Journal(name, from, to) {
		if err != nil {
			return nil, fmt.Errorf("journal of house %s: %w", name, err)
		}
		if err := c.take(&e); err != nil {
			return nil, fmt.Errorf("journal of house %s, %s: %w", name, e.Now.Format(time.RFC3339), err)
		}
	}
	return c.sum, nil
}

// comparison is a replay under way.
type comparison struct {
	j     Journal
	sum   *Compared
	farms map[string]*config.Settings // by hash
	h     *house.House                // nil while nothing can be replayed
	zone  *time.Location
}

func (c *comparison) take(e *history.Entry) error {
	if e.Gap {
		c.sum.Gaps++
		c.h = nil
	}
	if e.Mark != nil {
		if e.Mark.Kind == history.Key && c.h != nil {
			c.h.LearnFrom(e.Mark.Saved) // else nothing happened: the replay goes on as the house did
			return nil
		}
		return c.restore(e.Mark)
	}
	if c.h == nil {
		c.sum.Passed++
		return nil
	}
	if c.sum.Ticks == 0 {
		c.sum.First = e.Now
	}
	c.sum.Ticks++
	c.sum.Last = e.Now
	result := c.h.Tick(e.Seen, e.Now.In(c.zone))
	if history.Digest(&result.Decision) == e.Digest {
		return nil
	}
	c.sum.Differ++
	if len(c.sum.Differences) < mostShown {
		c.sum.Differences = append(c.sum.Differences, Difference{Time: e.Now, Decision: result.Decision})
	}
	return nil
}

var errNoSettings = errors.New("the settings in force then are not in the journal")

// restore brings the house into the state of a mark.
func (c *comparison) restore(m *history.Mark) error {
	farm := c.farms[m.Hash]
	if farm == nil {
		text, err := c.j.SettingsText(m.Hash)
		if err != nil {
			return err
		}
		if text == nil {
			return errNoSettings
		}
		if farm, err = config.Parse("journal", text, nil); err != nil {
			return fmt.Errorf("the settings in force then do not load any more: %w", err)
		}
		c.farms[m.Hash] = farm
	}
	for i := range farm.Houses {
		if s := &farm.Houses[i].House; s.Name == c.sum.House {
			c.h, c.zone = house.Restore(s, m.Saved), farm.Site.Zone
			return nil
		}
	}
	return errNoSettings
}
