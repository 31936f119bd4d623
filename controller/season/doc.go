// Package season is the calendar: seasonal windows written as dates, hours and days, sunrise and
// sunset, and actions that fall due by a cron spec.
//
// Not in here: what a window allows (decide), what a period costs (tariff), and any runner or
// timer; the caller says what time it is and asks what holds or what fell due.
//
// What always holds:
//   - Every answer depends on its arguments only; nothing reads a clock or the machine's zone.
//   - The local day starts at its first existing instant and ends where the next one starts, also
//     where midnight is skipped or happens twice. A date that a zone skipped altogether has no
//     windows.
//   - A local clock time inside a gap stands for the end of the gap. One that happens twice stands
//     for the first where something starts and for the second where it ends, so that a window never
//     has a hole.
//   - A window over midnight belongs to the date on which it starts: dates and days ask about that
//     one. A start written with the sun belongs to the date of that sunrise or sunset, whatever its
//     offset.
package season

import "time"

// Site is where on Earth and in which zone. The zero value is the equator at Greenwich in UTC.
type Site struct {
	LatitudeDeg  float64        // north positive, -90 to 90
	LongitudeDeg float64        // east positive, -180 to 180
	Zone         *time.Location // nil is UTC
}

// Local returns t on the site's clock.
func (s Site) Local(t time.Time) time.Time { return t.In(s.zone()) }

func (s Site) zone() *time.Location {
	if s.Zone == nil {
		return time.UTC
	}
	return s.Zone
}

// Settings is the calendar of one house.
type Settings struct {
	Site    Site
	Windows []Span     // the first that covers wins
	Actions []Schedule // a Firing names its action by its index here
}
