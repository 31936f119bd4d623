package deploy_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const unitFile = "loambank.service"

// open are the doors that systemd-analyze(1) finds open in the unit, each with what needs it.
var open = map[string]string{
	"RootDirectory=/RootImage=":                "the program and its settings stand in the system's folders",
	"SupplementaryGroups=":                     "gpio, i2c and serial devices belong to groups",
	"PrivateDevices=":                          "fans and probes are devices",
	"DeviceAllow=":                             "fans and probes are devices",
	"PrivateUsers=":                            "the kernel must say who gives an order by hand",
	"PrivateNetwork=":                          "page and metrics are served",
	"RestrictAddressFamilies=~AF_(INET|INET6)": "page and metrics are served",
	"RestrictAddressFamilies=~AF_UNIX":         "orders by hand, and the service manager",
	"RestrictAddressFamilies=~AF_NETLINK":      "1-Wire buses",
	"IPAddressDeny=":                           "the farm's own networks are let in",
	"UMask=":                                   "the group may read the ledger for its reports",
	"ProtectClock=":                            "adjtimex(2) tells whether the clock is set",
	"SystemCallFilter=~@clock":                 "adjtimex(2) tells whether the clock is set",
	"SystemCallFilter=~@privileged":            "adjtimex(2) is in that set too",
}

// mostExposure bounds the unit's exposure, 0 to 10. Letting adjtimex(2) pass costs 0.4 of it.
const mostExposure = 1.9

func TestTheUnitIsHardened(t *testing.T) {
	analyze := program(t, "systemd-analyze")
	said, err := exec.CommandContext(t.Context(), analyze, "security", "--offline=true", "--json=short", unitFile).Output()
	if err != nil {
		t.Fatal(err)
	}
	var rows []struct {
		Name, Description string
		Set               *bool
		Exposure          *string
	}
	if err := json.Unmarshal(said, &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows) < 60 {
		t.Fatalf("%d checks are too few to mean something", len(rows))
	}
	for _, r := range rows {
		if r.Exposure == nil {
			continue
		}
		exposure, err := strconv.ParseFloat(*r.Exposure, 64)
		if err != nil {
			t.Fatalf("%s: %v", r.Name, err)
		}
		if exposure > 0 && open[r.Name] == "" {
			t.Errorf("%s is open, and nothing needs it: %s", r.Name, r.Description)
		}
	}
	text, err := exec.CommandContext(t.Context(), analyze, "security", "--offline=true", "--no-pager", unitFile).Output()
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "exposure level for "+unitFile+": ")
	words := strings.Fields(rest)
	if !found || len(words) == 0 {
		t.Fatalf("no overall exposure:\n%s", text)
	}
	if overall, err := strconv.ParseFloat(words[0], 64); err != nil || overall > mostExposure {
		t.Errorf("exposure %s, at most %v: %v", words[0], mostExposure, err)
	}
}

// TestTheUnitIsUnderstood has systemd read the unit: any word of it is a fault.
func TestTheUnitIsUnderstood(t *testing.T) {
	analyze := program(t, "systemd-analyze")
	text, err := os.ReadFile(unitFile)
	if err != nil {
		t.Fatal(err)
	}
	stand, err := exec.LookPath("true") // it must be there, and loambank need not be installed
	if err != nil {
		t.Fatal(err)
	}
	verify := func(t *testing.T, text []byte) string {
		t.Helper()
		path := filepath.Join(t.TempDir(), unitFile)
		if err := os.WriteFile(path, bytes.ReplaceAll(text, []byte("/usr/bin/loambank"), []byte(stand)), 0o600); err != nil {
			t.Fatal(err)
		}
		said, err := exec.CommandContext(t.Context(), analyze, "verify", path).CombinedOutput()
		if err != nil {
			return string(said) + err.Error()
		}
		return string(said)
	}
	if said := verify(t, text); said != "" {
		t.Errorf("systemd says: %s", said)
	}
	if said := verify(t, append(text, "\n[Service]\nRestartForEver=yes\n"...)); !strings.Contains(said, "RestartForEver") {
		t.Errorf("an unknown key passes: %q", said)
	}
}

// directives are the values of a key in the unit, in order.
func directives(t *testing.T, key string) (values []string) {
	t.Helper()
	text, err := os.ReadFile(unitFile)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		if value, ours := strings.CutPrefix(strings.TrimSpace(line), key+"="); ours {
			values = append(values, value)
		}
	}
	return values
}

func TestTheUnitNeverGivesUp(t *testing.T) {
	for key, want := range map[string][]string{
		"Restart": {"always"}, "StartLimitIntervalSec": {"0"}, "RestartSec": {"5"}, "WatchdogSec": {"60"},
		"ExecStopPost": {"/usr/bin/loambank safe --config /etc/loambank/farm.toml"},
		"DevicePolicy": {"closed"}, "CapabilityBoundingSet": {""}, "ProtectClock": {"no"},
	} {
		if diff := cmp.Diff(want, directives(t, key)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", key, diff)
		}
	}
	for _, device := range []string{"gpiochip", "i2c", "ttyUSB", "ttyACM", "ttyAMA", "ttyS"} {
		if !slices.Contains(directives(t, "DeviceAllow"), "char-"+device+" rw") {
			t.Errorf("%s devices are out of reach", device)
		}
	}
	if families := strings.Fields(directives(t, "RestrictAddressFamilies")[0]); !slices.Contains(families, "AF_NETLINK") {
		t.Error("1-Wire buses are out of reach")
	}
}

// TestTheUnitLetsTheClockBeAsked follows the system call filter line by line, as systemd.exec(5) has
// it: the first line makes an allow-list, ~ takes away, what comes later wins. It cannot show the
// filter at work, which needs a running systemd.
func TestTheUnitLetsTheClockBeAsked(t *testing.T) {
	analyze := program(t, "systemd-analyze")
	allowed := calls(t, analyze, "@default") // always permitted
	for _, line := range directives(t, "SystemCallFilter") {
		names, deny := strings.CutPrefix(line, "~")
		for _, name := range strings.Fields(names) {
			for call := range calls(t, analyze, name) {
				allowed[call] = !deny
			}
		}
	}
	for _, call := range []string{"adjtimex", "openat", "ioctl", "socket", "bind", "fsync", "flock", "epoll_pwait", "futex", "prlimit64", "renameat"} {
		if !allowed[call] {
			t.Errorf("%s is refused, the daemon needs it", call)
		}
	}
	for _, call := range []string{"clock_settime", "settimeofday", "clock_adjtime", "mount", "reboot", "init_module", "ptrace", "chroot", "setuid", "bpf", "setpriority"} {
		if allowed[call] {
			t.Errorf("%s passes, nothing needs it", call)
		}
	}
}

// calls are the system calls behind a name of a filter, sets in sets included.
func calls(t *testing.T, analyze, name string) map[string]bool {
	t.Helper()
	all := map[string]bool{}
	if !strings.HasPrefix(name, "@") {
		all[name] = true
		return all
	}
	said, err := exec.CommandContext(t.Context(), analyze, "syscall-filter", name).Output()
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(said)) {
		if line = strings.TrimSpace(line); line == "" || line == name || strings.HasPrefix(line, "#") {
			continue
		}
		for call := range calls(t, analyze, line) {
			all[call] = true
		}
	}
	return all
}
