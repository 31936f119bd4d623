package judge

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"loambank/config/unit"
)

func TestSoilThatAnswersPassesThrough(t *testing.T) {
	for _, v := range []Verdict{good(14.5), doubtful(14.5)} {
		got, st := CarrySoil(Carry{Known: true, C: 3, LostS: 7200, Uncertain: 2}, v, 5e6, 1e7, 10)
		if want := (Carried{C: 14.5, Quality: v.Quality, Known: true}); got != want {
			t.Errorf("%+v, want %+v", got, want)
		}
		if want := (Carry{Known: true, C: 14.5}); st != want {
			t.Errorf("%+v is remembered, want %+v", st, want)
		}
	}
}

func TestSoilNeverReadIsUnknown(t *testing.T) {
	got, st := CarrySoil(Carry{}, bad(12), 5e6, 1e7, 3600)
	if got != (Carried{}) || st != (Carry{}) {
		t.Errorf("%+v, %+v", got, st)
	}
}

// All soil probes of a store are lost on a winter evening: its temperature is carried for two
// days while the fans charge and discharge, then it is bad but still filled, then a probe answers.
func TestLostSoilIsCarriedForTwoDays(t *testing.T) {
	const capacityJK = 50e6
	_, st := CarrySoil(Carry{}, good(15), 0, capacityJK, 60)
	var got Carried
	last := unit.Kelvin(0)
	for minute := 1; minute <= 48*60; minute++ {
		heatJ := 0.0
		switch {
		case minute <= 600:
			heatJ = -50e6 / 600 // a night of discharge: 1 K
		case minute > 900 && minute <= 1200:
			heatJ = 25e6 / 300 // half of it back by day
		}
		got, st = CarrySoil(st, bad(15), heatJ, capacityJK, 60)
		if got.Quality != Doubtful || !got.Known {
			t.Fatalf("minute %d: %+v", minute, got)
		}
		if got.Uncertain <= last {
			t.Fatalf("minute %d: uncertainty %g K does not grow over %g", minute, got.Uncertain, last)
		}
		last = got.Uncertain
	}
	// 15 − 1 + 0.5; 48 h at 0.02 K/h and half of the 1.5 K moved.
	if math.Abs(float64(got.C)-14.5) > 1e-9 || math.Abs(float64(got.Uncertain)-(0.96+0.75)) > 1e-9 {
		t.Errorf("after 48 h: %+v", got)
	}
	if got.LostS != 48*3600 {
		t.Errorf("lost for %g s", got.LostS)
	}
	got, st = CarrySoil(st, bad(15), 0, capacityJK, 60)
	if got.Quality != Bad || !got.Known || math.Abs(float64(got.C)-14.5) > 1e-9 {
		t.Errorf("after two days: %+v", got)
	}
	got, _ = CarrySoil(st, good(13.75), 0, capacityJK, 60)
	if want := (Carried{C: 13.75, Quality: Good, Known: true}); got != want {
		t.Errorf("back: %+v, want %+v", got, want)
	}
}

func TestSoilOfUnknownCapacityStaysWhereItWas(t *testing.T) {
	for _, c := range []struct{ heatJ, capacityJK float64 }{
		{5e6, 0}, {5e6, -1}, {5e6, math.NaN()}, {math.NaN(), 1e7}, {math.Inf(1), 1e7},
	} {
		got, _ := CarrySoil(Carry{Known: true, C: 15}, bad(15), c.heatJ, c.capacityJK, 3600)
		if got.C != 15 || math.Abs(float64(got.Uncertain)-0.02) > 1e-12 {
			t.Errorf("%g J over %g J/K: %+v", c.heatJ, c.capacityJK, got)
		}
	}
}

func TestCarriedSoilStaysWhereSoilCanBe(t *testing.T) {
	for heatJ, want := range map[float64]unit.Celsius{1e12: 60, -1e12: -30} {
		got, _ := CarrySoil(Carry{Known: true, C: 15}, bad(15), heatJ, 1e7, 10)
		if got.C != want || math.Abs(float64(got.Uncertain)-45) > 1e-3 {
			t.Errorf("%g J: %+v, want %g °C and half of 90 K", heatJ, got, want)
		}
	}
}

func TestCarriedSoilStaysFinite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var st Carry
		last := Carried{}
		for range rapid.IntRange(1, 40).Draw(t, "ticks") {
			v := Verdict{Value: anyValue().Draw(t, "soil"), Quality: Quality(rapid.IntRange(0, 2).Draw(t, "quality"))}
			var got Carried
			got, st = CarrySoil(st, v, anyValue().Draw(t, "heat"), anyValue().Draw(t, "capacity"), anyStep().Draw(t, "step"))
			if x := float64(got.C); math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%+v", got)
			}
			if !(got.Uncertain >= 0 && got.Uncertain <= mostUncertainK && got.LostS >= 0) {
				t.Fatalf("%+v", got)
			}
			if got.LostS > 0 && got.Uncertain < last.Uncertain {
				t.Fatalf("uncertainty shrank: %+v after %+v", got, last)
			}
			if last.Known && !got.Known {
				t.Fatalf("soil once known was forgotten")
			}
			if _, err := json.Marshal(st); err != nil {
				t.Fatal(err)
			}
			last = got
		}
	})
}
