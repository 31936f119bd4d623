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

	"loambank/controller"
)

// The daemon's unit, and the one that asks for it whether the clock is set.
const unitFile, clockFile = "loambank.service", "loambank-clock.service"

// open are the doors that systemd-analyze(1) finds open in the daemon's unit, each with what needs it.
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
}

// openOfClock are those of the other unit.
var openOfClock = map[string]string{
	"RootDirectory=/RootImage=":     "the program stands in the system's folders",
	"UMask=":                        "the daemon may run as another user",
	"ProtectClock=":                 "adjtimex(2) tells whether the clock is set",
	"SystemCallFilter=~@clock":      "adjtimex(2) tells whether the clock is set",
	"SystemCallFilter=~@privileged": "adjtimex(2) is in that set too",
}

func TestTheUnitsAreHardened(t *testing.T) {
	analyze := program(t, "systemd-analyze")
	for _, tt := range []struct {
		unit string
		open map[string]string
		most float64 // exposure, 0 to 10
	}{
		{unitFile, open, 1.5},
		{clockFile, openOfClock, 0.5},
	} {
		t.Run(tt.unit, func(t *testing.T) {
			hardened(t, analyze, tt.unit, tt.open, tt.most)
		})
	}
}

func hardened(t *testing.T, analyze, unit string, open map[string]string, most float64) {
	t.Helper()
	said, err := exec.CommandContext(t.Context(), analyze, "security", "--offline=true", "--json=short", unit).Output()
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
	text, err := exec.CommandContext(t.Context(), analyze, "security", "--offline=true", "--no-pager", unit).Output()
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "exposure level for "+unit+": ")
	words := strings.Fields(rest)
	if !found || len(words) == 0 {
		t.Fatalf("no overall exposure:\n%s", text)
	}
	if overall, err := strconv.ParseFloat(words[0], 64); err != nil || overall > most {
		t.Errorf("exposure %s, at most %v: %v", words[0], most, err)
	}
}

// TestTheUnitsAreUnderstood has systemd read the units: any word of it is a fault.
func TestTheUnitsAreUnderstood(t *testing.T) {
	analyze := program(t, "systemd-analyze")
	stand, err := exec.LookPath("true") // it must be there, and loambank need not be installed
	if err != nil {
		t.Fatal(err)
	}
	verify := func(unit, more string) string {
		t.Helper()
		dir := t.TempDir()
		for _, name := range []string{unitFile, clockFile} {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			text = bytes.ReplaceAll(text, []byte("/usr/bin/loambank"), []byte(stand))
			if name == unit {
				text = append(text, more...)
			}
			if err := os.WriteFile(filepath.Join(dir, name), text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		said, err := exec.CommandContext(t.Context(), analyze, "verify", filepath.Join(dir, unit)).CombinedOutput()
		if err != nil {
			return string(said) + err.Error()
		}
		return string(said)
	}
	for _, unit := range []string{unitFile, clockFile} {
		if said := verify(unit, ""); said != "" {
			t.Errorf("systemd says of %s: %s", unit, said)
		}
		if said := verify(unit, "\n[Service]\nRestartForEver=yes\n"); !strings.Contains(said, "RestartForEver") {
			t.Errorf("an unknown key passes in %s: %q", unit, said)
		}
	}
}

// directives are the values of a key in a unit, in order.
func directives(t *testing.T, unit, key string) (values []string) {
	t.Helper()
	text, err := os.ReadFile(unit)
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
		"DevicePolicy": {"closed"}, "CapabilityBoundingSet": {""}, "ProtectClock": {"yes"}, "Wants": {clockFile},
	} {
		if diff := cmp.Diff(want, directives(t, unitFile, key)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", key, diff)
		}
	}
	for _, device := range []string{"gpiochip", "i2c", "ttyUSB", "ttyACM", "ttyAMA", "ttyS"} {
		if !slices.Contains(directives(t, unitFile, "DeviceAllow"), "char-"+device+" rw") {
			t.Errorf("%s devices are out of reach", device)
		}
	}
	if families := strings.Fields(directives(t, unitFile, "RestrictAddressFamilies")[0]); !slices.Contains(families, "AF_NETLINK") {
		t.Error("1-Wire buses are out of reach")
	}
}

// TestTheUnitsFilterCalls wants the daemon to be let do its work and not touch the clock, and the other
// unit to ask for it.
func TestTheUnitsFilterCalls(t *testing.T) {
	analyze := program(t, "systemd-analyze")
	refused := []string{
		"clock_settime", "settimeofday", "clock_adjtime", "mount", "reboot", "init_module", "ptrace", "chroot", "setuid", "bpf", "setpriority",
	}
	for _, tt := range []struct {
		unit            string
		needed, refused []string
	}{
		{
			unitFile,
			[]string{"openat", "ioctl", "socket", "bind", "fsync", "flock", "epoll_pwait", "futex", "prlimit64", "renameat"},
			append(refused, "adjtimex"),
		},
		{clockFile, []string{"adjtimex", "openat", "write", "epoll_pwait", "futex", "prlimit64"}, refused},
	} {
		allowed := passing(t, analyze, tt.unit)
		for _, call := range tt.needed {
			if !allowed[call] {
				t.Errorf("%s refuses %s, which is needed", tt.unit, call)
			}
		}
		for _, call := range tt.refused {
			if allowed[call] {
				t.Errorf("%s lets %s pass, nothing needs it", tt.unit, call)
			}
		}
	}
}

// TestOneUnitTellsTheOther wants the file that one leaves to be the one that the daemon believes, and to
// stay until the board starts anew.
func TestOneUnitTellsTheOther(t *testing.T) {
	for key, want := range map[string]string{
		"ExecStart":        "/usr/bin/loambank clock --tell " + controller.ClockToldFile,
		"RuntimeDirectory": filepath.Base(filepath.Dir(controller.ClockToldFile)),
		"RemainAfterExit":  "yes", "Restart": "on-failure", "RuntimeDirectoryMode": "0755", "UMask": "0022",
	} {
		if diff := cmp.Diff([]string{want}, directives(t, clockFile, key)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", key, diff)
		}
	}
}

// passing are the calls that pass a unit's filter, which is followed line by line as systemd.exec(5)
// has it: the first line makes an allow-list, ~ takes away, what comes later wins. It cannot show the
// filter at work, which needs a running systemd.
func passing(t *testing.T, analyze, unit string) map[string]bool {
	t.Helper()
	allowed := calls(t, analyze, "@default") // always permitted
	lines := directives(t, unit, "SystemCallFilter")
	if slices.Contains(directives(t, unit, "ProtectClock"), "yes") {
		lines = append(lines, "~@clock")
	}
	for _, line := range lines {
		names, deny := strings.CutPrefix(line, "~")
		for _, name := range strings.Fields(names) {
			for call := range calls(t, analyze, name) {
				allowed[call] = !deny
			}
		}
	}
	return allowed
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
