package deploy_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// announced are metrics that rules and dashboard ask for where a daemon has them: those of what a
// store has left are absent until it is learned.
var announced = []string{
	"loambank_store_fill_ratio", "loambank_store_available_kwh", "loambank_hold_outside_celsius", "loambank_hours_left_seconds",
	"loambank_fan_off_baseline", "loambank_commission_due",
	"loambank_saved_energy_kwh", "loambank_saved_energy_uncertainty_kwh",
}

// promtool runs it in the folder of the rules and settings.
func promtool(t *testing.T, args ...string) {
	t.Helper()
	check := exec.CommandContext(t.Context(), program(t, "promtool"), args...)
	check.Dir = "prometheus"
	if said, err := check.CombinedOutput(); err != nil {
		t.Errorf("promtool %s: %v\n%s", strings.Join(args, " "), err, said)
	}
}

func TestPromtoolAcceptsRulesAndSettings(t *testing.T) {
	promtool(t, "check", "rules", "--lint=all", "--lint-fatal", "records.yml", "alerts.yml")
	promtool(t, "check", "config", "prometheus.yml")
	fleets, err := filepath.Glob("prometheus/fleet-*.yml")
	if err != nil || len(fleets) != 3 {
		t.Fatalf("fleet examples: %v, %v", fleets, err)
	}
	for _, f := range fleets { // the password it names is not here
		promtool(t, "check", "config", "--syntax-only", filepath.Base(f))
	}
}

func TestRulesInTheirCases(t *testing.T) {
	promtool(t, "test", "rules", "alerts_test.yml")
	promtool(t, "test", "rules", "records_test.yml")
}

// alerts are the alerts that are shipped: name and text of each.
func alerts(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, part := range strings.Split(read(t, "prometheus/alerts.yml"), "- alert: ")[1:] {
		name, text, _ := strings.Cut(part, "\n")
		all[name] = text
	}
	if len(all) < 10 {
		t.Fatalf("only %d alerts were found", len(all))
	}
	return all
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestEachAlertSaysWhatToDoAndHasItsCases(t *testing.T) {
	cases := read(t, "prometheus/alerts_test.yml")
	for name, text := range alerts(t) {
		for _, part := range []string{"severity:", "summary:", "description:", "runbook:"} {
			if !strings.Contains(text, part) {
				t.Errorf("%s has no %s", name, part)
			}
		}
		if !strings.Contains(cases, `{alertname="`+name+`"}`) {
			t.Errorf("%s fires in no case of alerts_test.yml", name)
		}
		if !regexp.MustCompile(`severity: (critical|warning|info)\b`).MatchString(text) {
			t.Errorf("%s: severity is one of critical, warning, info", name)
		}
	}
}

func TestWindowsHoldThreeCheckpoints(t *testing.T) {
	const checkpoint = 5 * time.Minute
	for _, path := range []string{"prometheus/records.yml", "prometheus/alerts.yml", "grafana/loambank.json"} {
		windows := regexp.MustCompile(`\[([0-9]+)([smhd])`).FindAllStringSubmatch(read(t, path), -1)
		if len(windows) == 0 {
			t.Errorf("%s has no window", path)
		}
		for _, w := range windows {
			number, unit := w[1], w[2]
			if unit == "d" {
				continue
			}
			if d, err := time.ParseDuration(number + unit); err != nil || d < 3*checkpoint {
				t.Errorf("%s: window %s holds fewer than three checkpoints (%v)", path, w[0], err)
			}
		}
	}
}

var metricName = regexp.MustCompile(`\bloambank_[a-z_]+`)

// exported are the names of the metrics of a daemon, by its golden page.
func exported(t *testing.T) []string {
	t.Helper()
	page := read(t, "../controller/export/testdata/metrics.golden")
	var names []string
	for _, m := range regexp.MustCompile(`(?m)^# TYPE (\w+)`).FindAllStringSubmatch(page, -1) {
		names = append(names, m[1])
	}
	return names
}

func TestRulesAndDashboardAskForMetricsThatThereAre(t *testing.T) {
	there := append(exported(t), announced...)
	ruleGroups := regexp.MustCompile(`(?m)^  - name: .*$|(store|house):loambank_\S+`)
	for _, path := range []string{"prometheus/records.yml", "prometheus/alerts.yml", "grafana/loambank.json"} {
		for _, name := range metricName.FindAllString(ruleGroups.ReplaceAllString(read(t, path), ""), -1) {
			if !slices.Contains(there, name) {
				t.Errorf("%s asks for %s, which no daemon has", path, name)
			}
		}
	}
}

func TestDashboardShowsEveryMetric(t *testing.T) {
	shown := metricName.FindAllString(read(t, "grafana/loambank.json"), -1)
	for _, name := range exported(t) {
		if !slices.Contains(shown, name) {
			t.Errorf("no panel shows %s", name)
		}
	}
}
