package page_test

import (
	"net/http"
	"os"
	"testing"
	"time"

	"loambank/controller/decide"
	"loambank/controller/judge"

	"loambank/controller/page"
)

func TestZZServe(t *testing.T) {
	if os.Getenv("ZZ") == "" {
		t.Skip()
	}
	f := live(t, 130)
	if os.Getenv("ZZ") == "risk" {
		ruin(t, f)
	}
	t.Log(http.ListenAndServe("127.0.0.1:9471", page.New(f.options())))
}

func ruin(t *testing.T, f *farm) {
	s := f.snap
	s.Verdicts[5] = judge.Verdict{Value: 11, Quality: judge.Bad, Cause: judge.Stale, AgeS: 754}
	s.Verdicts[2] = judge.Verdict{Value: 1, Quality: judge.Doubtful, Cause: judge.Pinned, AgeS: 2}
	s.Decision.Alarms.FrostNoHelp = true
	s.State.Stores[0].Fans[1].Fault = decide.DoesNotStart
	s.Sentence = "CROP AT RISK: house 33 °F, soil only 35 °F, the store cannot help. Fans off: the crop is at its frost limit, but the soil at 35 °F cannot help the house at 33 °F. Light the heater, cover the beds."
	s.Ticked = s.Ticked.Add(-8 * time.Minute)
}
