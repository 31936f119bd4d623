package export_test

import (
	"bytes"
	"flag"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"

	"loambank/controller"
	"loambank/controller/alarm"
	"loambank/controller/decide"
	"loambank/controller/export"
	"loambank/controller/ledger"
)

var update = flag.Bool("update", false, "write the golden files anew")

// family is one metric as gathered, with all its label sets.
type family struct {
	name, help string
	metrics    []metric
}

type metric struct {
	labels map[string]string
	value  float64
}

// gather returns the families that the collector shows.
func gather(t *testing.T, all ...*controller.Snapshot) []family {
	t.Helper()
	registry := prometheus.NewPedanticRegistry()
	registry.MustRegister(export.New(showing(all...)))
	gathered, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	var families []family
	for _, f := range gathered {
		next := family{name: f.GetName(), help: f.GetHelp()}
		for _, m := range f.GetMetric() {
			labels := map[string]string{}
			for _, l := range m.GetLabel() {
				labels[l.GetName()] = l.GetValue()
			}
			next.metrics = append(next.metrics, metric{labels, m.GetGauge().GetValue() + m.GetCounter().GetValue()})
		}
		families = append(families, next)
	}
	return families
}

// exposition is what a scrape reads.
func exposition(t *testing.T, all ...*controller.Snapshot) []byte {
	t.Helper()
	return expose(t, showing(all...)())
}

func expose(t *testing.T, v *controller.View) []byte {
	t.Helper()
	w := httptest.NewRecorder()
	export.Handler(func() *controller.View { return v }).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	if w.Code != http.StatusOK {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	return w.Body.Bytes()
}

func TestExposition(t *testing.T) {
	const path = "testdata/metrics.golden"
	var got []byte
	synctest.Test(t, func(t *testing.T) { got = exposition(t, lower(t), upper(t)) }) // no time passes
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", path, diff)
	}
}

// hoursInAName is the one thing that linters find: "hours left" is what growers call it, its unit is
// seconds as it should be.
const hoursInAName = `use base unit "seconds" instead of "hours"`

func TestExpositionIsWellFormed(t *testing.T) {
	problems, err := testutil.CollectAndLint(export.New(showing(lower(t), upper(t))))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		if p.Metric == "loambank_hours_left_seconds" && p.Text == hoursInAName {
			continue
		}
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
}

// TestPromtoolAgrees asks Prometheus' own checker.
func TestPromtoolAgrees(t *testing.T) {
	check := exec.CommandContext(t.Context(), program(t, "promtool"), "check", "metrics")
	check.Stdin = bytes.NewReader(exposition(t, lower(t), upper(t)))
	said, err := check.CombinedOutput()
	// Now and then promtool 2.42 says nothing of what it finds.
	only := "loambank_hours_left_seconds " + hoursInAName
	if text := strings.TrimSpace(string(said)); text != only && (text != "" || err != nil) {
		t.Errorf("promtool: %v\n%s", err, said)
	}
}

// value returns the value of the metric with these labels, and whether there is one.
func value(families []family, name string, labels map[string]string) (float64, bool) {
	for _, f := range families {
		for _, m := range f.metrics {
			match := f.name == name
			for k, want := range labels {
				if got, there := m.labels[k]; there && got != want {
					match = false
				}
			}
			if match {
				return m.value, true
			}
		}
	}
	return 0, false
}

func TestABadProbesValueIsAbsent(t *testing.T) {
	s := lower(t)
	intake := map[string]string{"house": "lower", "probe": "intake"}
	families := gather(t, s)
	if v, there := value(families, "loambank_air_temperature_celsius", intake); there {
		t.Errorf("a bad probe shows %v, want nothing", v)
	}
	if up, there := value(families, "loambank_probe_up", intake); !there || up != 0 {
		t.Errorf("its probe_up is %v, %v; want 0", up, there)
	}
	if age, _ := value(families, "loambank_probe_age_seconds", intake); age != 754 {
		t.Errorf("its age is %v s, want 754", age)
	}
	if missed, _ := value(families, "loambank_probe_errors_total", intake); missed != 75 {
		t.Errorf("it has %v errors, want 75", missed)
	}
	s.Verdicts[1].Quality = 1 // doubtful is shown
	if v, there := value(gather(t, s), "loambank_air_temperature_celsius", intake); !there || v != 19.5 {
		t.Errorf("back, it shows %v, %v; want 19.5", v, there)
	}
}

func TestWithoutACurrencyThereIsNoMoney(t *testing.T) {
	families := gather(t, lower(t), upper(t))
	if v, there := value(families, "loambank_money_total", map[string]string{"house": "upper"}); there {
		t.Errorf("a house without prices shows money: %v", v)
	}
	for kind, want := range map[string]float64{"electricity": 12.34, "fuel_avoided": 56.78} {
		labels := map[string]string{"house": "lower", "currency": "USD", "kind": kind}
		if v, there := value(families, "loambank_money_total", labels); !there || v != want {
			t.Errorf("%s money is %v, %v; want %v", kind, v, there, want)
		}
	}
}

// TestAHouseThatHangsGrowsOld wants each house to have an age of its own.
func TestAHouseThatHangsGrowsOld(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		hanging, ticking := lower(t), upper(t)
		time.Sleep(41*time.Second + 500*time.Millisecond)
		ticking.Ticked = time.Now()
		families := gather(t, hanging, ticking)
		for name, want := range map[string]float64{"lower": 41.5, "upper": 0} {
			if age, there := value(families, "loambank_tick_age_seconds", map[string]string{"house": name}); !there || age != want {
				t.Errorf("%s ticked %v s ago (%v), want %v", name, age, there, want)
			}
		}
	})
}

// TestARemovedHouseIsGone also wants a farm that has not ticked yet to show no house at all.
func TestARemovedHouseIsGone(t *testing.T) {
	if text := string(exposition(t, lower(t))); strings.Contains(text, `"upper"`) || !strings.Contains(text, `"lower"`) {
		t.Errorf("without the upper house:\n%s", text)
	}
	if text := string(exposition(t)); strings.Contains(text, "{") || !strings.Contains(text, "loambank_clock_believed 1\n") {
		t.Errorf("before the first tick:\n%s", text)
	}
}

// TestWhatIsGoneIsNotShown has a store and a fan in the account that the settings no longer have.
func TestWhatIsGoneIsNotShown(t *testing.T) {
	if text := string(exposition(t, lower(t))); strings.Contains(text, "sold") {
		t.Errorf("what was taken out is shown:\n%s", text)
	}
}

// TestCountersComeFromDisk shows a house whose account has gone on since the last checkpoint, and
// one that was never on disk.
func TestCountersComeFromDisk(t *testing.T) {
	s := lower(t)
	counted := s.Account.Clone()
	s.Account.Stores[0].Fans[0].Starts = 99
	v := &controller.View{Houses: []controller.Shown{{Snapshot: s, Counted: counted}, {Snapshot: upper(t)}}}
	text := string(expose(t, v))
	if !strings.Contains(text, `loambank_fan_starts_total{fan="east",house="lower",store="beds"} 37`+"\n") {
		t.Errorf("starts are not those on disk:\n%s", text)
	}
	for _, line := range strings.Split(text, "\n") {
		if strings.Contains(line, `house="upper"`) && strings.Contains(line, "_total{") {
			t.Errorf("a house that was never on disk shows a counter: %s", line)
		}
	}
	if strings.Contains(text, "ledger_checkpoint_timestamp_seconds ") {
		t.Error("the time of a checkpoint is shown where there was none")
	}
}

func TestTheFarmIsShown(t *testing.T) {
	tests := []struct {
		name   string
		change func(*controller.View)
		want   string
	}{
		{"the longest tick", nil, "loambank_tick_duration_seconds 0.25"},
		{"when it was last safe on disk", nil, "loambank_ledger_checkpoint_timestamp_seconds 1.769e+09"},
		{"settings in force", nil, "loambank_config_last_reload_successful 1"},
		{"settings with faults", func(v *controller.View) { v.Reloaded = false }, "loambank_config_last_reload_successful 0"},
		{"a clock that is believed", nil, "loambank_clock_believed 1"},
		{"one that is not", func(v *controller.View) { v.Believed = false }, "loambank_clock_believed 0"},
		{"a history that is written", nil, "loambank_history_ok 1"},
		{"one that is not", func(v *controller.View) { v.History.LastError = "no space left on device" }, "loambank_history_ok 0"},
		{"ticks that are in no journal", func(v *controller.View) { v.History.Dropped = 12 }, "loambank_history_dropped_ticks 12"},
		{"a damaged history", func(v *controller.View) { v.History.Damaged = 1 }, "loambank_history_damaged_files 1"},
		{"no alarm", nil, "loambank_alarm 0"},
		{"an alarm", func(v *controller.View) { v.Alarm[alarm.Fan] = true }, "loambank_alarm 1"},
		{"a fan that is well", nil, `loambank_fan_fault{fan="east",house="lower",store="beds"} 0`},
		{"a weak fan", func(v *controller.View) { v.Houses[0].State.Stores[0].Fans[0].Fault = decide.Weak }, `loambank_fan_fault{fan="east",house="lower",store="beds"} 1`},
		{"a fan that takes no orders", func(v *controller.View) { v.Houses[0].Inputs.Stores[0].Fans[1].Down = true }, `loambank_fan_fault{fan="west",house="lower",store="beds"} 1`},
	}
	for _, tt := range tests {
		v := showing(lower(t), upper(t))()
		if tt.change != nil {
			tt.change(v)
		}
		if text := string(expose(t, v)); !strings.Contains(text, tt.want+"\n") {
			t.Errorf("%s: want %s in\n%s", tt.name, tt.want, text)
		}
	}
}

// TestEveryStateIsShownOnce wants exactly one state of each store to be 1, whatever it is.
func TestEveryStateIsShownOnce(t *testing.T) {
	for a := range decide.Activities {
		s := lower(t)
		s.Decision.Stores[0].State = decide.Activity(a)
		sum, families := 0.0, gather(t, s)
		for b := range decide.Activities {
			v, there := value(families, "loambank_state",
				map[string]string{"house": "lower", "store": "beds", "state": decide.Activity(b).String()})
			if !there || (v == 1) != (a == b) {
				t.Errorf("in %v, %v is %v, %v", decide.Activity(a), decide.Activity(b), v, there)
			}
			sum += v
		}
		if sum != 1 {
			t.Errorf("in %v, %v states are 1", decide.Activity(a), sum)
		}
	}
}

// TestLabelsComeFromClosedSets keeps error texts and readings out of labels: every value is a name
// of the config or a word of a list in the code, for every reason there is.
func TestLabelsComeFromClosedSets(t *testing.T) {
	sets := map[string][]string{
		"house": {"lower", "upper"}, "store": {"beds", "path", ""}, "fan": {"east", "west", "middle", "only"},
		"probe":     {"crop", "intake", "humidity", "deep", "root", "smoke"},
		"direction": {"in", "out"}, "kind": {"sensible", "latent", "electricity", "fuel_avoided", "fuel"},
		"currency": {"USD"}, "depth": {"45 cm", ""},
		"notice": {
			"side-open", "probe-in-sun", "probe-at-pipe", "store-wetter", "store-drier",
			"accounts-airflow", "accounts-probe", "accounts-leak", "accounts-water",
		},
	}
	for a := range decide.Activities {
		sets["state"] = append(sets["state"], decide.Activity(a).String())
	}
	for c := range decide.Codes {
		sets["reason"] = append(sets["reason"], decide.Code(c).String())
	}
	for c := range decide.Codes {
		s := lower(t)
		s.Decision.Stores[0].Reason.Code = decide.Code(c)
		for _, f := range gather(t, s, upper(t)) {
			for _, m := range f.metrics {
				for label, v := range m.labels {
					if !slices.Contains(sets[label], v) {
						t.Errorf("%s has %s=%q", f.name, label, v)
					}
				}
			}
		}
	}
}

// TestSavedEnergyIsShownWhereItMayBeClaimed takes away what a claim stands on.
func TestSavedEnergyIsShownWhereItMayBeClaimed(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*controller.Snapshot)
		shown  bool
	}{
		{"a heated house whose flow is known", func(*controller.Snapshot) {}, true},
		{"an unheated house", func(s *controller.Snapshot) { s.Saved[ledger.Season].Heated = false }, false},
		{"a flow that is a catalogue's", func(s *controller.Snapshot) { s.Saved[ledger.Season].Energy.Claimed = false }, false},
		{"no hour that could be counted", func(s *controller.Snapshot) { s.Saved[ledger.Season].Energy.CountedH = 0 }, false},
		{"nothing told of the season, only of the day", func(s *controller.Snapshot) {
			s.Saved[ledger.Day], s.Saved[ledger.Season] = s.Saved[ledger.Season], ledger.Saving{}
		}, false},
	} {
		s := lower(t)
		tt.change(s)
		text := string(exposition(t, s))
		for _, line := range []string{
			`loambank_saved_energy_kwh{house="lower",kind="fuel"} 410.5`, `loambank_saved_energy_kwh{house="lower",kind="electricity"} -15.4`,
			`loambank_saved_energy_uncertainty_kwh{house="lower",kind="fuel"} 88`, `loambank_saved_energy_uncertainty_kwh{house="lower",kind="electricity"} 0`,
		} {
			if strings.Contains(text, "\n"+line+"\n") != tt.shown {
				t.Errorf("%s: %s is shown: %v", tt.name, line, !tt.shown)
			}
		}
	}
}

// TestAHouseWithoutAHeaterAvoidsNoFuel shows what its fans cost, and no more.
func TestAHouseWithoutAHeaterAvoidsNoFuel(t *testing.T) {
	s := lower(t)
	s.Settings.House.Decide.Heater.Present = false
	text := string(exposition(t, s))
	if strings.Contains(text, "fuel_avoided") || !strings.Contains(text, `kind="electricity"} 12.34`) {
		t.Errorf("money is told as\n%s", text)
	}
}

// TestHelpIsForGrowers wants a sentence of everyday words that says the unit where there is one.
func TestHelpIsForGrowers(t *testing.T) {
	units := map[string]string{"_kwh_total": "kWh", "_litres_total": "litres", "_ratio": "0 to 1"}
	for _, f := range gather(t, lower(t), upper(t)) {
		help := f.help
		if !strings.HasSuffix(help, ".") || len(help) < 20 || strings.Contains(help, "_") {
			t.Errorf("%s: %q is no sentence", f.name, help)
		}
		for suffix, word := range units {
			if strings.HasSuffix(f.name, suffix) && !strings.Contains(help, word) {
				t.Errorf("%s: %q does not say %s", f.name, help, word)
			}
		}
	}
}
