package judge

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// anyValue is what a probe might say: mostly plausible, sometimes absurd.
func anyValue() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.Float64Range(-5, 40),
		rapid.Float64Range(0, 1),
		rapid.SampledFrom([]float64{
			0, 1, 85, -127, 0.995, math.NaN(), math.Inf(1), math.Inf(-1),
			math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64,
		}),
		rapid.Float64(),
	)
}

func anyRaw() *rapid.Generator[Raw] {
	return rapid.Custom(func(t *rapid.T) Raw {
		return Raw{Value: anyValue().Draw(t, "value"), OK: rapid.IntRange(0, 4).Draw(t, "ok") > 0}
	})
}

func anyStep() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.SampledFrom([]float64{10, 60, 900}),
		rapid.SampledFrom([]float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64}),
		rapid.Float64Range(0, 100e3),
	)
}

func anySettings() *rapid.Generator[Settings] {
	return rapid.Custom(func(t *rapid.T) Settings {
		return Defaults(
			Role(rapid.IntRange(0, len(roleWords)-1).Draw(t, "role")),
			Place(rapid.IntRange(0, len(placeWords)-1).Draw(t, "place")),
			rapid.Float64Range(0, 2).Draw(t, "depth"))
	})
}

func TestNoStreamOfReadingsBreaksTheJudge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySettings().Draw(t, "settings")
		if rapid.Bool().Draw(t, "odd settings") {
			s.Recover = rapid.IntRange(-3, 9).Draw(t, "recover")
			s.StaleS = anyValue().Draw(t, "stale")
			s.JumpBand = anyValue().Draw(t, "jump band")
			s.JumpPerS = anyValue().Draw(t, "jump rate")
			s.StuckS = anyValue().Draw(t, "stuck")
			s.StuckBand = anyValue().Draw(t, "stuck band")
			s.Min, s.Max = anyValue().Draw(t, "min"), anyValue().Draw(t, "max")
		}
		var st State
		for range rapid.IntRange(1, 60).Draw(t, "ticks") {
			raw, stepS := anyRaw().Draw(t, "raw"), anyStep().Draw(t, "step")
			before := st
			v := Probe(&s, &st, raw, stepS)
			holdsAlways(t, s, before, raw, v)
		}
	})
}

func holdsAlways(t *rapid.T, s Settings, before State, raw Raw, v Verdict) {
	if math.IsNaN(v.Value) || math.IsInf(v.Value, 0) {
		t.Fatalf("value %g", v.Value)
	}
	if !(v.AgeS >= 0 && v.AgeS <= longestS) {
		t.Fatalf("age %g", v.AgeS)
	}
	if (v.Quality == Good) != (v.Cause == Fine) {
		t.Fatalf("%v with %v", v.Quality, v.Cause)
	}
	possible := raw.OK && refuse(&s, raw.Value) == Fine
	if v.Value != before.Value && (!possible || v.Value != raw.Value) {
		t.Fatalf("value %g comes from nowhere: it was %g, said is %+v", v.Value, before.Value, raw)
	}
	if raw.OK && !possible && v.Quality != Bad {
		t.Fatalf("%+v is judged %v", raw, v.Quality)
	}
	if v.Quality == Good && !raw.OK && before.Quality != Good {
		t.Fatalf("silence made a %v probe good", before.Quality)
	}
}

func TestAfterRecoverGoodReadingsAProbeIsGoodAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := probe{s: anySettings().Draw(t, "settings")}
		for range rapid.IntRange(0, 30).Draw(t, "ticks") {
			Probe(&p.s, &p.st, anyRaw().Draw(t, "raw"), anyStep().Draw(t, "step"))
		}
		p.say(math.NaN(), 10)
		// Good for every role: inside its range, off the pinned ends, a contact's 1.
		good := 0.5
		if p.s.Role.Contact() || p.s.Role == CO2 || p.s.Role == NoRole {
			good = 1
		}
		for range p.s.Recover - 1 {
			if v := p.say(good, 10); v.Quality != Doubtful || v.Cause != Recovering {
				t.Fatalf("%+v before %d readings", v, p.s.Recover)
			}
		}
		if v := p.say(good, 10); v.Quality != Good || v.Value != good {
			t.Fatalf("%+v after %d readings of %g", v, p.s.Recover, good)
		}
	})
}

func TestStateSurvivesJSONAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySettings().Draw(t, "settings")
		var kept, restored State
		for range rapid.IntRange(1, 60).Draw(t, "ticks") {
			raw, stepS := anyRaw().Draw(t, "raw"), anyStep().Draw(t, "step")
			text, err := json.Marshal(restored)
			if err != nil {
				t.Fatal(err)
			}
			restored = State{}
			if err := json.Unmarshal(text, &restored); err != nil {
				t.Fatal(err)
			}
			var want, got Verdict
			want = Probe(&s, &kept, raw, stepS)
			got = Probe(&s, &restored, raw, stepS)
			if diff := cmp.Diff(want, got); diff != "" {
				t.Fatal(diff)
			}
		}
	})
}

func TestSmallStepsAndOneStepCountTheSameTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ticks := rapid.IntRange(1, 400).Draw(t, "ticks")
		one, many := newProbe(Air, Crop, 0), newProbe(Air, Crop, 0)
		one.say(5, 10)
		many.say(5, 10)
		var got Verdict
		for range ticks {
			got = many.silent(8)
		}
		if want := one.silent(8 * float64(ticks)); got != want {
			t.Fatalf("%+v in %d steps, %+v in one", got, ticks, want)
		}
	})
}

func BenchmarkProbe(b *testing.B) {
	b.ReportAllocs()
	s := Defaults(Air, Crop, 0)
	var st State
	var v Verdict
	for i := range b.N {
		v = Probe(&s, &st, Raw{Value: 12 + float64(i&15)/16, OK: true}, 10)
	}
	if v.Quality != Good {
		b.Fatal(v)
	}
}
