package page

import (
	"context"
	"time"

	"loambank/config"
	"loambank/controller/chart"
	"loambank/controller/history"
)

// finest is up to how long a time a picture shows every half hour, with what the fans did as a strip;
// longer ones show days.
const finest = 10 * 24 * time.Hour

// Sheet draws what a house was between two times in the site's zone, for a page that is printed: the
// picture of the status page. Nothing is drawn, and nil returned, where nothing is known.
func Sheet(ctx context.Context, r *history.Reader, s *config.Settings, h *config.House, from, to time.Time) (*chart.Chart, error) {
	q := &question{
		house: h, span: &spans[1], from: from, to: to, now: to, turn: s.Turn, width: usualWidth,
		tick: time.Duration(s.TickS * float64(time.Second)),
	}
	if to.Sub(from) > finest {
		q.span = &spans[2]
	}
	rec, err := readRecord(ctx, r, q)
	if err != nil || !rec.any {
		return nil, err
	}
	return plot(rec, q, s.Display), nil
}
