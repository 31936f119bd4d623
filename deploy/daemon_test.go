package deploy_test

import (
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"loambank/controller/ledger"
)

// speed is how fast a daemon's clock runs: five minutes, the longest time between two checkpoints,
// take half a second.
const speed = "600"

// often lets fans run whatever the season is when the test runs.
const often = `
[[action]]
name = "often"
cron = "*/15 * * * *"
`

// daemon is the program on the demo's invented farm, with a state directory that outlasts it.
type daemon struct {
	*process
	program, address, dir string
}

func startDaemon(t *testing.T, program string) *daemon {
	t.Helper()
	farm, err := os.ReadFile("../cmd/loambank/demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	d := &daemon{program: program, address: freeAddress(t), dir: t.TempDir()}
	if err := os.WriteFile(d.settings(), append(farm, often...), 0o600); err != nil {
		t.Fatal(err)
	}
	d.start(t)
	return d
}

func (d *daemon) settings() string { return filepath.Join(d.dir, "farm.toml") }
func (d *daemon) state() string    { return filepath.Join(d.dir, "state") }

// start starts it, also again, and waits until each house has ticked.
func (d *daemon) start(t *testing.T) {
	t.Helper()
	env := []string{"LOAMBANK_LISTEN=" + d.address, "LOAMBANK_STATE_DIR=" + d.state()}
	d.process = start(t, env, d.program, "run", "--config", d.settings(), "--speed", speed)
	eventually(t, "the first ticks", func() bool {
		r, err := http.Get("http://" + d.address + "/readyz")
		if err != nil {
			return false
		}
		defer r.Body.Close()
		return r.StatusCode == http.StatusOK
	})
}

// stop ends it as a service is ended.
func (d *daemon) stop(t *testing.T) {
	t.Helper()
	if err := d.end(syscall.SIGTERM); err != nil {
		t.Errorf("a daemon that is stopped: %v", err)
	}
}

// metrics is the daemon's page of metrics as it is now.
func (d *daemon) metrics(t *testing.T) []byte {
	t.Helper()
	r, err := http.Get("http://" + d.address + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		t.Fatalf("%s: %v", r.Status, err)
	}
	return text
}

// checkpointed returns a page of metrics and the ledger it was made from: none was written between.
func (d *daemon) checkpointed(t *testing.T) ([]byte, *ledger.Checkpoint) {
	t.Helper()
	var page []byte
	var kept *ledger.Checkpoint
	eventually(t, "a page and a ledger of the same checkpoint", func() bool {
		page = d.metrics(t)
		before, there := series(t, page)[stamp]
		var err error
		if kept, _, err = ledger.Load(d.state()); err != nil {
			t.Fatal(err)
		}
		return there && before == series(t, d.metrics(t))[stamp]
	})
	return page, kept
}

var (
	sampleLine = regexp.MustCompile(`^(\w+)(?:\{(.*)\})? (\S+)$`)
	labelPair  = regexp.MustCompile(`(\w+)="((?:[^"\\]|\\.)*)"`)
)

// series are the samples of a page of metrics, by name and labels as key writes them.
func series(t *testing.T, page []byte) map[string]float64 {
	t.Helper()
	all := map[string]float64{}
	for line := range strings.Lines(string(page)) {
		line = strings.TrimSuffix(line, "\n")
		if strings.HasPrefix(line, "#") {
			continue
		}
		m := sampleLine.FindStringSubmatch(line)
		if m == nil {
			t.Fatalf("no sample: %s", line)
		}
		labels := map[string]string{}
		for _, pair := range labelPair.FindAllStringSubmatch(m[2], -1) {
			labels[pair[1]] = pair[2]
		}
		v, err := strconv.ParseFloat(m[3], 64)
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		all[key(m[1], labels)] = v
	}
	return all
}
