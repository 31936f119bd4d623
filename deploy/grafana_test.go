package deploy_test

import (
	"encoding/json"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// dashboard is what a test needs of the open dashboard format.
type dashboard struct {
	UID, Title    string
	SchemaVersion int
	Templating    struct{ List []variable }
	Panels        []panel
}

type variable struct {
	Name, Type, Definition, AllValue string
	IncludeAll                       bool
}

type panel struct {
	ID          int
	Type, Title string
	GridPos     struct{ X, Y, W, H int }
	Datasource  struct{ Type, UID string }
	Targets     []target
}

type target struct {
	RefID, Expr string
	Instant     bool
	Datasource  struct{ Type, UID string }
}

func loadDashboard(t *testing.T) dashboard {
	t.Helper()
	var d dashboard
	if err := json.Unmarshal([]byte(read(t, "grafana/loambank.json")), &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Panels) < 20 || len(d.Templating.List) != 4 {
		t.Fatalf("%d panels, %d variables", len(d.Panels), len(d.Templating.List))
	}
	return d
}

const columns = 24 // of a dashboard's grid

func TestDashboardImportsWithoutEdits(t *testing.T) {
	d := loadDashboard(t)
	if d.UID == "" || d.Title == "" || d.SchemaVersion == 0 {
		t.Errorf("uid %q, title %q, schema %d", d.UID, d.Title, d.SchemaVersion)
	}
	var variables []string
	for _, v := range d.Templating.List {
		variables = append(variables, v.Name)
	}
	taken := map[[2]int]string{}
	ids := map[int]bool{}
	for _, p := range d.Panels {
		if ids[p.ID] {
			t.Errorf("%s: id %d stands twice", p.Title, p.ID)
		}
		ids[p.ID] = true
		if p.Type != "row" && (p.Datasource.UID != "${datasource}" || len(p.Targets) == 0) {
			t.Errorf("%s: asks %q %d things", p.Title, p.Datasource.UID, len(p.Targets))
		}
		for _, q := range p.Targets {
			if q.Datasource.UID != "${datasource}" {
				t.Errorf("%s: query %s asks %q", p.Title, q.RefID, q.Datasource.UID)
			}
			for _, used := range regexp.MustCompile(`\$(\w+)`).FindAllStringSubmatch(q.Expr, -1) {
				if !slices.Contains(variables, used[1]) {
					t.Errorf("%s: no variable %s", p.Title, used[1])
				}
			}
		}
		occupy(t, taken, p)
	}
}

// occupy marks a panel's place on the grid, where no other may stand.
func occupy(t *testing.T, taken map[[2]int]string, p panel) {
	t.Helper()
	g := p.GridPos
	if g.W <= 0 || g.H <= 0 || g.X < 0 || g.X+g.W > columns {
		t.Errorf("%s: stands at %+v", p.Title, g)
	}
	for x := g.X; x < g.X+g.W; x++ {
		for y := g.Y; y < g.Y+g.H; y++ {
			if other, is := taken[[2]int{x, y}]; is {
				t.Errorf("%s stands on %s", p.Title, other)
				return
			}
			taken[[2]int{x, y}] = p.Title
		}
	}
}

var labelValues = regexp.MustCompile(`^label_values\((.+), (\w+)\)$`)

// values asks for a variable's values as the dashboard does.
func (v variable) values(t *testing.T, p *prometheus, known map[string]string) []string {
	t.Helper()
	m := labelValues.FindStringSubmatch(v.Definition)
	if m == nil {
		t.Fatalf("variable %s: %s", v.Name, v.Definition)
	}
	var all []string
	p.api(t, "label/"+m[2]+"/values", url.Values{"match[]": {substitute(m[1], known)}}, &all)
	return all
}

func substitute(expr string, known map[string]string) string {
	for name, value := range known {
		expr = strings.ReplaceAll(expr, "$"+name, value)
	}
	return expr
}

func TestEveryQueryOfTheDashboardBringsData(t *testing.T) {
	board := loadDashboard(t)
	d := startDaemon(t, buildDaemon(t))
	p := startPrometheus(t, "prometheus.yml", map[string]string{boardAddress: d.address})
	// Ratios want a tenth of a kWh in each house.
	eventually(t, "some electricity, scraped", func() bool {
		return p.number(t, "count(sum by (house) (increase(loambank_fan_energy_kwh_total[1d])) > 0.1)") == 2
	})
	// What was saved wants hours that count, which may be most of a day off: two minutes and a half.
	within(t, 3*time.Minute, "saved energy, scraped", func() bool { return p.number(t, "count(loambank_saved_energy_kwh)") > 0 })

	all := map[string]string{}
	one := map[string]string{}
	for _, v := range board.Templating.List {
		if v.Type != "query" {
			continue
		}
		if !v.IncludeAll || v.AllValue != ".*" {
			t.Errorf("variable %s: all is %q", v.Name, v.AllValue)
		}
		values := v.values(t, p, all)
		all[v.Name], one[v.Name] = v.AllValue, ""
		if len(values) > 0 {
			one[v.Name] = values[0]
		}
	}
	if one["house"] != "lower" || one["store"] != "beds" || one["site"] != "" {
		t.Errorf("the variables offer %v", one) // a farm that is scraped alone has no site
	}
	for _, pan := range board.Panels {
		for _, q := range pan.Targets {
			t.Run(pan.Title+" "+q.RefID, func(t *testing.T) {
				for _, chosen := range []map[string]string{all, one} {
					brings(t, p, substitute(q.Expr, chosen))
				}
			})
		}
	}
}

// brings wants data, unless the query asks for what this daemon does not have yet.
func brings(t *testing.T, p *prometheus, expr string) {
	t.Helper()
	got := p.query(t, expr)
	there := exported(t)
	for _, name := range metricName.FindAllString(expr, -1) {
		if !slices.Contains(there, name) {
			return
		}
	}
	if len(got) == 0 {
		t.Errorf("no data: %s", expr)
	}
}
