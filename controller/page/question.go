package page

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"loambank/config"
	"loambank/controller"
)

// span is how much time a picture shows.
type span struct {
	word, label string
	slot        time.Duration // what one point stands for
	row         int           // slots of one row of the table
	fine        bool          // every reading is shown, and what the fans did as lanes; else days
}

var spans = []span{
	{"day", "Day", 5 * time.Minute, 12, true},
	{"week", "Week", 30 * time.Minute, 12, true},
	{"season", "Season", 24 * time.Hour, 7, false},
	{"year", "Year", 24 * time.Hour, 7, false},
}

// question is what somebody wants to see of a house.
type question struct {
	house    *config.House
	span     *span
	from, to time.Time // in the site's zone
	latest   bool      // it ends now
	until    time.Time // the last day shown, its midnight
	now      time.Time // by the board's clock
	turn     config.Turn
	width    int
	tick     time.Duration // between two readings
}

// errAsked is a question that cannot be answered as it was asked.
var errAsked = errors.New("bad question")

func asked(format string, args ...any) error {
	return fmt.Errorf("%w: %s", errAsked, fmt.Sprintf(format, args...))
}

const (
	narrowest, widest = 320, 1600
	usualWidth        = 900
	dateForm          = "2006-01-02"
)

// askedOf reads a question about a house. An error says what would be right. What the query holds
// besides is left alone.
func askedOf(query url.Values, s *controller.Snapshot, set *config.Settings) (*question, error) {
	now := s.Time.In(zoneOf(s))
	q := &question{house: s.Settings, span: &spans[0], now: now, turn: set.Turn, until: midnight(now), latest: true, width: usualWidth}
	q.tick = time.Duration(set.TickS * float64(time.Second))
	if text := query.Get("range"); text != "" {
		i := slices.IndexFunc(spans, func(s span) bool { return s.word == text })
		if i < 0 {
			return nil, asked("range=%.20q is not known; write range=day, week, season or year", text)
		}
		q.span = &spans[i]
	}
	if text := query.Get("until"); text != "" {
		day, err := time.ParseInLocation(dateForm, text, now.Location())
		if err != nil {
			return nil, asked("until=%.20q is no date; write it as until=%s", text, now.Format(dateForm))
		}
		if day.After(now) || day.Year() < 2000 {
			return nil, asked("until=%s is not between 2000-01-01 and today; write a day up to %s", text, now.Format(dateForm))
		}
		q.until, q.latest = midnight(day), false
	}
	if text := query.Get("width"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < narrowest || n > widest {
			return nil, asked("width=%.20q is not a width; write %d to %d pixels", text, narrowest, widest)
		}
		q.width = n
	}
	q.bounds()
	return q, nil
}

// bounds places the period: whole days up to and with until; a day that ends now is the last 24 h.
func (q *question) bounds() {
	q.to = q.until.AddDate(0, 0, 1)
	if q.latest {
		q.to = q.nextRow()
	}
	switch q.span.word {
	case "day":
		q.from = q.to.AddDate(0, 0, -1)
	case "week":
		q.from = q.to.AddDate(0, 0, -7)
	case "year":
		q.from = q.to.AddDate(-1, 0, 0)
	case "season":
		q.from = q.turn.SeasonBegan(q.until)
		last := q.turn.LastFrost.In(q.from.Year())
		end := time.Date(q.from.Year(), last.Month, last.Day+1, 0, 0, 0, 0, q.to.Location())
		if !end.After(q.from) {
			last = q.turn.LastFrost.In(q.from.Year() + 1)
			end = time.Date(q.from.Year()+1, last.Month, last.Day+1, 0, 0, 0, 0, q.to.Location())
		}
		if end.Before(q.to) {
			q.to = end
		}
	}
}

// nextRow is when the table's row that is now being filled ends: full hours look like hours.
func (q *question) nextRow() time.Time {
	row := time.Duration(q.span.row) * q.span.slot
	if !q.span.fine {
		return midnight(q.now).AddDate(0, 0, 1)
	}
	begin := midnight(q.now)
	return begin.Add((q.now.Sub(begin)/row + 1) * row)
}

// link is the query for the same house at another span or day. The zero until is now.
func (q *question) link(word string, until time.Time) string {
	v := url.Values{"name": {q.house.House.Name}, "range": {word}}
	if !until.IsZero() && until.Before(midnight(q.now)) {
		v.Set("until", until.Format(dateForm))
	}
	return "?" + strings.ReplaceAll(v.Encode(), "+", "%20")
}

// here is the query of what is shown.
func (q *question) here() string {
	if q.latest {
		return q.link(q.span.word, time.Time{})
	}
	return q.link(q.span.word, q.until)
}

// earlier and later are the last days of the periods beside this one; later is zero where this is
// the last.
func (q *question) earlier() time.Time {
	switch q.span.word {
	case "week":
		return q.until.AddDate(0, 0, -7)
	case "season":
		return q.from.AddDate(0, 0, -1)
	case "year":
		return q.until.AddDate(-1, 0, 0)
	}
	return q.until.AddDate(0, 0, -1)
}

func (q *question) later() time.Time {
	next := q.until.AddDate(0, 0, 1)
	switch q.span.word {
	case "week":
		next = q.until.AddDate(0, 0, 7)
	case "season":
		d := q.turn.ToppingUp.In(q.from.Year() + 1)
		next = time.Date(q.from.Year()+2, d.Month, d.Day-1, 0, 0, 0, 0, q.from.Location())
		if q.turn.SeasonBegan(q.now).Equal(q.from) {
			return time.Time{}
		}
	case "year":
		next = q.until.AddDate(1, 0, 0)
	}
	if today := midnight(q.now); q.latest || !q.until.Before(today) {
		return time.Time{}
	} else if next.After(today) {
		return today
	}
	return next
}

// title names the period for people.
func (q *question) title() string {
	last := q.to.Add(-time.Second)
	switch {
	case q.span.word == "day" && q.latest:
		return "the last 24 hours"
	case q.span.word == "day":
		return q.from.Format("Mon 2 Jan 2006")
	}
	return q.from.Format("2 Jan 2006") + " to " + last.Format("2 Jan 2006")
}
