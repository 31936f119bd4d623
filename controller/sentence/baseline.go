package sentence

import (
	"fmt"
	"math"
	"time"

	"loambank/config/unit"
	"loambank/controller/commission"
)

// Compared says what a fan did when it was commissioned and does now, as a clause without a full stop.
func Compared(c commission.Comparison, d unit.Display) string {
	what := fmt.Sprintf("fan %s of %s draws %s, and %s when commissioned", c.Fan, c.Store, d.Power(c.Is), d.Power(c.Was))
	if c.What == commission.Airflow {
		what = fmt.Sprintf("the fans of %s together move %s, and %s when commissioned", c.Store, d.Flow(c.Is), d.Flow(c.Was))
	}
	percent := math.Round(100 * (c.Is/c.Was - 1))
	switch {
	case percent > 0:
		return fmt.Sprintf("%s: %.0f %% more", what, percent)
	case percent < 0:
		return fmt.Sprintf("%s: %.0f %% less", what, -percent)
	}
	return what + ": the same"
}

// Strayed says that a fan has run off its baseline.
func Strayed(c commission.Comparison, d unit.Display) Advice {
	text := Compared(c, d)
	return Advice{
		Text: "For an hour of running, " + text + ".",
		Do:   "Lock out the disconnect of the fan, then look for water, roots, nests, collapsed pipe, clogged screen.",
	}
}

// NotCommissioned says that nobody has made a round through a house yet.
func NotCommissioned(house string) Advice {
	return Advice{
		Text: "Nobody has tried the fans, interlocks and probes of this house yet.",
		Do:   "loambank commission --house " + house + " goes through them with you.",
	}
}

// CommissionAgain says that the season has turned since the last round, at.
func CommissionAgain(house string, at time.Time) Advice {
	return Advice{
		Text: "The season has turned since the house was commissioned on " + at.Format("2 January 2006") + ".",
		Do:   "Commission it again: loambank commission --house " + house + ".",
	}
}
