package sentence_test

import (
	"strings"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/commission"
	"loambank/controller/sentence"
)

// TestWhatIsComparedIsSaid with figures worked by hand.
func TestWhatIsComparedIsSaid(t *testing.T) {
	fan := func(was, is float64) commission.Comparison {
		return commission.Comparison{Store: "beds", Fan: "east", What: commission.Power, Was: was, Is: is}
	}
	for _, tt := range []struct {
		c    commission.Comparison
		d    unit.Display
		want string
	}{
		{fan(480, 384), unit.US, "fan east of beds draws 384 W, and 480 W when commissioned: 20 % less"},
		{fan(480, 600), unit.SI, "fan east of beds draws 600 W, and 480 W when commissioned: 25 % more"},
		{fan(480, 481), unit.SI, "fan east of beds draws 481 W, and 480 W when commissioned: the same"},
		{
			commission.Comparison{Store: "beds", What: commission.Airflow, Was: 0.4, Is: 0.3},
			unit.SI,
			"the fans of beds together move 1080 m³/h, and 1440 m³/h when commissioned: 25 % less",
		},
		{ // 0.0004719474 m³/s is a cfm (greenhouse-S019 to S021)
			commission.Comparison{Store: "beds", What: commission.Airflow, Was: 0.4719474, Is: 0.3539606},
			unit.US,
			"the fans of beds together move 750 cfm, and 1000 cfm when commissioned: 25 % less",
		},
	} {
		if got := sentence.Compared(tt.c, tt.d); got != tt.want {
			t.Errorf("said is %q, want %q", got, tt.want)
		}
	}
}

// TestAStrayFanTellsWhereToLook, and the season when to commission.
func TestAStrayFanTellsWhereToLook(t *testing.T) {
	a := sentence.Strayed(commission.Comparison{Store: "beds", Fan: "east", Was: 480, Is: 384}, unit.US)
	if !strings.Contains(a.Do, "look for water, roots, nests, collapsed pipe, clogged screen") || !strings.Contains(a.Do, "Lock out the disconnect") ||
		!strings.Contains(a.Text, "20 % less") {
		t.Errorf("it says %+v", a)
	}
	again := sentence.CommissionAgain("lower", time.Date(2025, time.September, 14, 0, 0, 0, 0, time.UTC))
	if !strings.Contains(again.Text, "14 September 2025") || !strings.Contains(again.Do, "commission --house lower") {
		t.Errorf("it says %+v", again)
	}
	if first := sentence.NotCommissioned("lower"); !strings.Contains(first.Do, "commission --house lower") {
		t.Errorf("it says %+v", first)
	}
}
