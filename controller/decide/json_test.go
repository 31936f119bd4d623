package decide_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/decide"
)

// throughJSON is the state after it was written to disk and read back.
func throughJSON(t testing.TB, st decide.State) decide.State {
	t.Helper()
	text, err := json.Marshal(st)
	if err != nil {
		t.Fatal(err)
	}
	var back decide.State
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	return back
}

func TestStateSurvivesJSON(t *testing.T) {
	y := begin(t, farm(t, exercise, threeSpeeds), night(t))
	in := seen(1, 12)
	order(decide.OrderRun, 2, 1e6)(&in)
	in.HeaterOn = decide.On
	y.pass(0, in)
	if diff := cmp.Diff(y.st, throughJSON(t, y.st)); diff != "" {
		t.Errorf("written and read back (-was +is):\n%s", diff)
	}
}
