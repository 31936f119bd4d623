package replay_test

import (
	"io"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"loambank/controller/replay"
	"loambank/drivers/recording"
)

// memory is a recording made by a test: the columns of a tunnel, moment by moment.
type memory struct {
	columns []recording.Column
	moments []moment
	at      int
}

func remembered(moments []moment) *memory {
	m := &memory{moments: moments}
	for i, header := range [cells]string{"air_degC", "rh_percent", "soil_50cm_degC", "soil_degC"} {
		m.columns = append(m.columns, recording.Column{Header: header, Index: i})
	}
	return m
}

func (m *memory) Columns() []recording.Column { return m.columns }

func (m *memory) Next(row *recording.Row) error {
	if m.at == len(m.moments) {
		return io.EOF
	}
	now := &m.moments[m.at]
	m.at++
	row.Time = now.at
	row.Values, row.OK = row.Values[:0], row.OK[:0]
	for _, c := range now.cells {
		row.Values, row.OK = append(row.Values, c.v), append(row.OK, c.ok)
	}
	return nil
}

// minutes draws a tunnel's winter out to a row each minute: straight lines between readings that
// lie no more than an hour apart, with noise, so that comparisons flicker about their limits. Of
// the readings some are lost and some are absurd. Longer gaps stay.
func minutes(u *tunnel, from, until time.Time) []moment {
	random := rand.New(rand.NewPCG(20220207, 1))
	noise := [cells]float64{airCell: 0.4, humidityCell: 0.02, shallowCell: 0.05}
	var rows []moment
	for _, m := range u.moments {
		if !m.cells[airCell].ok && !m.cells[deepCell].ok || m.at.Before(from) || !m.at.Before(until) {
			continue
		}
		if len(rows) > 0 {
			last := rows[len(rows)-1]
			if gap := m.at.Sub(last.at); gap <= time.Hour {
				for d := time.Minute; d < gap; d += time.Minute {
					rows = append(rows, between(&last, &m, float64(d)/float64(gap)))
				}
			}
		}
		rows = append(rows, m)
	}
	for i := range rows {
		for k := range rows[i].cells {
			c := &rows[i].cells[k]
			c.v = math.Round((c.v+noise[k]*random.NormFloat64())*1000) / 1000
			switch draw := random.Float64(); {
			case draw < 0.02:
				*c = cell{}
			case draw < 0.0205:
				c.v = -127
			}
		}
		if h := &rows[i].cells[humidityCell]; h.ok && h.v >= 0 {
			h.v = min(h.v, 1)
		}
	}
	return rows
}

// between is a moment a share of the way from a to b, of what both hold.
func between(a, b *moment, share float64) moment {
	m := moment{at: a.at.Add(time.Duration(share * float64(b.at.Sub(a.at)))).Round(time.Second)}
	for k := range m.cells {
		if x, y := a.cells[k], b.cells[k]; x.ok && y.ok {
			m.cells[k] = cell{x.v + share*(y.v-x.v), true}
		}
	}
	return m
}

// TestMinutesFollowTheRules holds the naive rules against the core where it is tempted to switch
// every minute: minimum run and rest, starts per hour and every band count here.
func TestMinutesFollowTheRules(t *testing.T) {
	all := tunnels(t)
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, rome(t)) }
	for _, c := range []struct {
		name        string
		u           *tunnel
		from, until time.Time
	}{
		{"October, the store is topped up", &all[0], day(2021, 10, 1), day(2021, 10, 18)},
		{"November and December, frost sets in", &all[0], day(2021, 11, 20), day(2021, 12, 14)},
		{"February, clear days and cold nights", &all[0], day(2022, 2, 7), day(2022, 3, 1)},
		{"March, a late frost", &all[1], day(2022, 3, 1), day(2022, 4, 1)},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows := minutes(c.u, c.from, c.until)
			w, all := run(t, remembered(rows), replay.Options{}), ticks(rows)
			w.fill(t, all)
			sum := follow(t, &w, all)
			if most := len(all) / 200; sum.differ > most {
				t.Errorf("%d of %d ticks differ, want at most %d", sum.differ, len(all), most)
			}
			w.checkSummary(t, all, sum)
			promises(t, all)
		})
	}
}
