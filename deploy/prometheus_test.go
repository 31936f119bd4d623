package deploy_test

import (
	"encoding/json"
	"io"
	"maps"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// scrapeEvery stands for the minute of the shipped settings.
const scrapeEvery = "200ms"

// prometheus is a real one, with a folder and a port of its own.
type prometheus struct {
	*process
	url string
}

// startPrometheus starts one with settings that are shipped here. Scrapes and rules come faster, and
// each target is replaced by where it is in the test. flags are further ones of its command line.
func startPrometheus(t *testing.T, settings string, targets map[string]string, flags ...string) *prometheus {
	t.Helper()
	dir, address := t.TempDir(), freeAddress(t)
	text, err := os.ReadFile(filepath.Join("prometheus", settings))
	if err != nil {
		t.Fatal(err)
	}
	changed := string(text)
	targets = maps.Clone(targets)
	targets["_interval: 1m"] = "_interval: " + scrapeEvery
	for shipped, here := range targets {
		if !strings.Contains(changed, shipped) {
			t.Fatalf("%s has no %s", settings, shipped)
		}
		changed = strings.ReplaceAll(changed, shipped, here)
	}
	if err := os.WriteFile(filepath.Join(dir, settings), []byte(changed), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, rules := range []string{"records.yml", "alerts.yml"} {
		text, err := os.ReadFile(filepath.Join("prometheus", rules))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, rules), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	p := &prometheus{url: "http://" + address}
	p.process = start(t, nil, program(t, "prometheus"), append(flags, "--config.file="+filepath.Join(dir, settings),
		"--storage.tsdb.path="+filepath.Join(dir, "data"), "--web.listen-address="+address, "--log.level=warn")...)
	eventually(t, "prometheus", func() bool {
		r, err := http.Get(p.url + "/-/ready")
		if err != nil {
			return false
		}
		defer r.Body.Close()
		return r.StatusCode == http.StatusOK
	})
	return p
}

// api asks Prometheus and decodes the data of its answer.
func (p *prometheus) api(t *testing.T, path string, ask url.Values, data any) {
	t.Helper()
	r, err := http.Get(p.url + "/api/v1/" + path + "?" + ask.Encode())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	answer := struct {
		Status, Error string
		Data          any
	}{Data: data}
	if err := json.Unmarshal(text, &answer); err != nil {
		t.Fatalf("%s %v: %v\n%s", path, ask, err, text)
	}
	if answer.Status != "success" {
		t.Fatalf("%s %v: %s", path, ask, answer.Error)
	}
}

// point is a time and a value as the HTTP API writes them: a number and a text.
type point [2]any

func (p point) value(t *testing.T) float64 {
	t.Helper()
	text, _ := p[1].(string)
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func (p point) at(t *testing.T) float64 {
	t.Helper()
	v, is := p[0].(float64)
	if !is {
		t.Fatalf("%v is no time", p[0])
	}
	return v
}

// answer is one series of an answer: one point of an instant vector, many of a range.
type answer struct {
	Metric map[string]string
	Value  point
	Values []point
}

// query evaluates now.
func (p *prometheus) query(t *testing.T, expr string) []answer {
	t.Helper()
	var data struct{ Result []answer }
	p.api(t, "query", url.Values{"query": {expr}}, &data)
	return data.Result
}

// stored are the last values of what the daemon shows, by name and labels as key writes them, without
// the site, which a Prometheus adds.
func (p *prometheus) stored(t *testing.T, matchers string) map[string]float64 {
	t.Helper()
	all := map[string]float64{}
	for _, a := range p.query(t, `{__name__=~"loambank_.+"`+matchers+`}`) {
		delete(a.Metric, "site")
		all[key(a.Metric["__name__"], a.Metric)] = a.Value.value(t)
	}
	return all
}

// number evaluates an expression of at most one series; no series is 0.
func (p *prometheus) number(t *testing.T, expr string) float64 {
	t.Helper()
	all := p.query(t, expr)
	if len(all) == 0 {
		return 0
	}
	if len(all) > 1 {
		t.Fatalf("%s has %d series, not one", expr, len(all))
	}
	return all[0].Value.value(t)
}

// key writes a series in one way only: labels sorted, empty ones and those of the scrape left out.
func key(name string, labels map[string]string) string {
	var b strings.Builder
	b.WriteString(name)
	for _, l := range slices.Sorted(maps.Keys(labels)) {
		if v := labels[l]; v != "" && l != "__name__" && l != "job" && l != "instance" {
			b.WriteString(" " + l + "=" + v)
		}
	}
	return b.String()
}
