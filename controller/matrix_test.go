package controller

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"

	"loambank/controller/alarm"
	"loambank/controller/decide"
)

// Exposition makes the handler that shows a farm to Prometheus. It is handed in, because it imports
// this package.
type Exposition func(view func() *View) http.Handler

// row is one line of the fault matrix. testdata/faults/README.md tells its little language.
type row struct {
	name, with, fault              string
	state, fans, metric, log, bell string
}

func rows(t *testing.T) (all []row) {
	t.Helper()
	f, err := os.Open("../testdata/faults/matrix.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if head := strings.Join(lines[0], ","); head != "name,with,fault,state,fans,metric,log,alarm" {
		t.Fatalf("the matrix begins with %s", head)
	}
	for _, l := range lines[1:] {
		all = append(all, row{l[0], l[1], l[2], l[3], l[4], l[5], l[6], l[7]})
	}
	return all
}

// FaultMatrix drives a farm of two houses through every row: one house meets the fault, and then
// state, fans, metrics, log and alarm must be what the row says; the other decides in every tick
// what it decides without the fault.
func FaultMatrix(t *testing.T, shown Exposition) {
	all := rows(t)
	if len(all) < 60 {
		t.Errorf("the matrix has %d rows, at least 60 were wanted", len(all))
	}
	names := map[string]bool{}
	spared := map[string][]decision{} // what the other house decides, by what is left of a row without its fault
	for _, r := range all {
		if names[r.name] {
			t.Errorf("two rows are named %q", r.name)
		}
		names[r.name] = true
		t.Run(r.name, func(t *testing.T) {
			got := r.meet(t, shown)
			harmless := r.without()
			if harmless.fault == r.fault {
				return // nothing but time passes, in both houses
			}
			key := harmless.with + ": " + harmless.fault
			want, known := spared[key]
			if !known {
				want = harmless.meet(t, nil)
				spared[key] = want
			}
			r.spares(t, want, got)
		})
	}
}

// decision is what the other house decided in a tick.
type decision struct {
	after string // of its time since the start
	all   decide.Decision
}

// without returns the row without its fault: what is left is the time that passes, and restarts.
func (r row) without() row {
	var left []string
	for word := range strings.FieldsSeq(r.fault) {
		switch what, _, _ := strings.Cut(word, ":"); what {
		case "wait", "stop":
			left = append(left, word)
		case "start": // without another clock
			left = append(left, what)
		}
	}
	var of []string
	for word := range strings.FieldsSeq(r.with) {
		if slices.Contains([]string{"state", "disk", "summer", "winter-day", "dst"}, word) { // of the whole farm
			of = append(of, word)
		}
	}
	return row{name: r.name, with: strings.Join(of, " "), fault: strings.Join(left, " ")}
}

// spares compares what the other house decided with what it decides without the fault. A reload
// moves its ticks, but not what its fans do and why. What a restart finds damaged, or counts as time
// that has passed, is of both houses: then only how the other one ends must be the same.
func (r row) spares(t *testing.T, want, got []decision) {
	t.Helper()
	if len(want) == 0 || len(got) != len(want) {
		t.Fatalf("the other house was seen in %d ticks, without the fault in %d", len(got), len(want))
	}
	brief := strings.Contains(r.fault, "reload")
	first := 0
	if strings.Contains(r.fault, "damage:") || strings.Contains(r.fault, "start:") {
		brief, first = true, len(want)-1
	}
	for k := first; k < len(want); k++ {
		same := got[k] == want[k] || brief && alike(got[k], want[k])
		// Both houses tick at once: the one that asks for leave to start second may get it a tick later.
		for _, beside := range []int{k - 1, k + 1} {
			same = same || beside >= 0 && beside < len(want) && alike(got[k], want[beside])
		}
		if !same {
			t.Fatalf("%s after the start the other house decides %+v, without the fault %+v", got[k].after, got[k].all, want[k].all)
		}
	}
	if last := &got[len(got)-1].all.Stores[0]; !last.Running() {
		t.Errorf("the other house does not run in the end: nothing is proven; %+v", last)
	}
}

// alike reports whether the fans of both do the same for the same reason, under the same alarms.
func alike(a, b decision) bool {
	p, q := &a.all.Stores[0], &b.all.Stores[0]
	return p.State == q.State && p.Stages == q.Stages && p.Reason.Code == q.Reason.Code && a.all.Alarms == b.all.Alarms
}

// meet runs a farm into the fault and, unless shown is nil, checks what comes of it. It returns what
// the other house decided.
func (r row) meet(t *testing.T, shown Exposition) (other []decision) {
	s := newScene(t, r)
	synctest.Test(t, func(t *testing.T) {
		s.t = t
		s.begin("")
		s.pass("10m")
		for word := range strings.FieldsSeq(r.fault) {
			s.do(word)
		}
		if shown != nil {
			r.check(t, s, shown)
		}
		s.free()
		if err := s.farm.end(); err != nil && !s.mayFailToStop {
			t.Errorf("the stop: %v", err)
		}
	})
	return s.other
}

func (r row) check(t *testing.T, s *scene, shown Exposition) {
	t.Helper()
	v := s.farm.View()
	lower := v.Houses[0]
	d := &lower.Decision.Stores[0]
	code := d.Reason.Code
	if d.Waiting.Code != decide.NoReason {
		code = d.Waiting.Code
	}
	if got := fmt.Sprintf("%v %v", d.State, code); got != r.state {
		t.Errorf("the house is in %q, want %q: %s", got, r.state, lower.Sentence)
	}
	if got := s.stage("east") + " " + s.stage("west"); got != r.fans {
		t.Errorf("the fans hold %s, want %s", got, r.fans)
	}
	r.metrics(t, v, shown)
	for _, words := range strings.Split(r.log, "; ") {
		if none, not := strings.CutPrefix(words, "no "); not {
			if s.farm.log.with(strings.Split(none, "|")...) != 0 {
				t.Errorf("a line has %q", none)
			}
		} else if !s.farm.log.once(words) {
			t.Errorf("%d lines have %q, want one; the log:\n%s", s.farm.log.with(strings.Split(words, "|")...), words, s.farm.log.b.String())
		}
	}
	var sounds []string
	for c, on := range v.Alarm {
		if on {
			sounds = append(sounds, alarm.Cause(c).String())
		}
	}
	if len(sounds) == 0 {
		sounds = []string{"none"}
	}
	bell := "1" // energised
	if r.bell != "none" {
		bell = "0"
	}
	if got := strings.Join(sounds, " "); got != r.bell || s.holds("bell") != bell {
		t.Errorf("the alarm is %s, its output holds %s; want %s", got, s.holds("bell"), r.bell)
	}
}

// metrics wants each of the row's series in the exposition with its value, or absent.
func (r row) metrics(t *testing.T, v *View, shown Exposition) {
	t.Helper()
	answer := httptest.NewRecorder()
	shown(func() *View { return v }).ServeHTTP(answer, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	text := answer.Body.String()
	state, _, _ := strings.Cut(r.state, " ")
	for _, want := range append(strings.Split(r.metric, "; "), "state{state="+state+"|store=beds} 1") {
		series, value, _ := strings.Cut(want, " ")
		got := sample(text, series)
		if most, under := strings.CutPrefix(value, "under:"); under {
			value = got
			if number(t, got) >= number(t, most) {
				value = want
			}
		}
		if got != value {
			t.Errorf("%s is %s, want %s", series, got, value)
		}
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// sample finds a series such as probe_up{probe=air} of the lower house, or of the farm where it has
// no labels.
func sample(text, series string) string {
	name, labels, has := strings.Cut(strings.TrimSuffix(series, "}"), "{")
	wants := []string{}
	if has {
		wants = append(wants, `house="lower"`)
		for _, l := range strings.Split(labels, "|") {
			k, v, _ := strings.Cut(l, "=")
			wants = append(wants, k+"="+strconv.Quote(v))
		}
	}
	for line := range strings.Lines(text) {
		head, value, found := strings.Cut(strings.TrimSpace(line), "} ")
		if !found {
			head, value, _ = strings.Cut(strings.TrimSpace(line), " ")
		}
		of, rest, _ := strings.Cut(head, "{")
		have := strings.Split(rest, ",")
		if of == "loambank_"+name && !slices.ContainsFunc(wants, func(w string) bool { return !slices.Contains(have, w) }) {
			return value
		}
	}
	return "absent"
}
