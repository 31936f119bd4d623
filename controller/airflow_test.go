package controller

import (
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"testing"

	"loambank/controller/learn"
	"loambank/controller/lesson"
)

// TestTheLearnedAirflowIsThatOfAKnownFan writes what a daemon may have learned and reads the airflow.
func TestTheLearnedAirflowIsThatOfAKnownFan(t *testing.T) {
	h := &stake(t, "5 min", "lower").s.Houses[0]
	set := lesson.Settings(h)
	const share, hourS = 0.8, 3600
	for _, c := range []struct {
		name   string
		change func(l *learned, q *learn.StoreParams)
		want   float64
	}{
		{"known", func(*learned, *learn.StoreParams) {}, share * set.Stores[0].FlowM3s},
		{"it ran too little", func(_ *learned, q *learn.StoreParams) { q.Exchange.Hours = 19 }, 0},
		{"its exchange is not known", func(_ *learned, q *learn.StoreParams) { q.Exchange.P[0][0] = 0.1 }, 0},
		{"it has other fans now", func(_ *learned, q *learn.StoreParams) { q.Fans.Fans++ }, 0},
		{"it was another store", func(l *learned, _ *learn.StoreParams) { l.Stores[0] = "gone" }, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			p := learn.Update(&set, learn.Params{}, learn.Sample{StepS: 60})
			q := &p.Stores[0]
			q.RanS, q.Exchange.Hours, q.Exchange.P[0][0] = 40*hourS, 40, 0.01
			q.Soil.X[0], q.Soil.P[0][0] = math.Log(share), 0.01
			l := learned{Stores: []string{h.House.Decide.Stores[0].Name}}
			c.change(&l, q)
			l.Params = p
			text, err := json.Marshal(&learnedFile{Schema: learnedSchema, Houses: map[string]learned{h.House.Name: l}})
			must(t, err)
			must(t, os.WriteFile(learnedPath(dir), text, 0o600))
			flows, err := LearnedAirflow(dir, h)
			must(t, err)
			if len(flows) != len(h.House.Decide.Stores) || math.Abs(flows[0]-c.want) > 1e-9 {
				t.Errorf("the fans move %v m³/s, want %v", flows, c.want)
			}
		})
	}
}

func TestNothingLearnedIsNoAirflow(t *testing.T) {
	h := &stake(t, "5 min", "lower").s.Houses[0]
	dir := t.TempDir()
	for _, c := range []struct {
		name, text string
		bad        bool
	}{
		{"no file", "", false},
		{"another house", `{"schema":2,"houses":{"upper":{}}}`, false},
		{"an older form", `{"schema":1,"houses":{}}`, true},
		{"a damaged file", `{`, true},
	} {
		if c.text != "" {
			must(t, os.WriteFile(learnedPath(dir), []byte(c.text), 0o600))
		}
		flows, err := LearnedAirflow(dir, h)
		if (err != nil) != c.bad || len(flows) == 0 || flows[0] != 0 {
			t.Errorf("%s: %v, %v", c.name, flows, err)
		}
	}
	must(t, os.Remove(learnedPath(dir)))
	must(t, os.Mkdir(learnedPath(dir), fs.ModePerm))
	if _, err := LearnedAirflow(dir, h); err == nil {
		t.Error("a folder is read")
	}
}
