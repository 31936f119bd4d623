package page_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/commission"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
	"loambank/controller/page"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got); -update rewrites it:\n%s", path, diff)
	}
}

func TestThePageAndItsDataAreAsTheyWere(t *testing.T) {
	f := live(t, 3)
	golden(t, "farm.html.golden", body(t, get(t, f.options(), "/").Body))
	golden(t, "house.html.golden", body(t, get(t, f.options(), "/house?name=lower&range=week").Body))
	golden(t, "farm.json.golden", body(t, get(t, f.options(), "/api/v1/farm").Body))
}

func TestWhatIsAskedIsAnswered(t *testing.T) {
	f := live(t, 1)
	for _, tt := range []struct {
		name, path string
		status     int
		has        []string
	}{
		{"every house", "/", 200, []string{"lower", "Crop safe", `href="/house?name=lower"`}},
		{"one house", "/house?name=lower", 200, []string{"The last 24 hours", `src="/chart.svg?name=lower&amp;range=day&amp;width=960"`, "Every probe"}},
		{"a picture", "/chart.svg?name=lower&range=week", 200, []string{"<svg", "untouched 18 in", "discharge (heat up)"}},
		{"a day gone by, with a way back", "/house?name=lower&until=2026-01-20", 200, []string{"Tue 20 Jan 2026", "until=2026-01-19", ">Later<"}},
		{"the season, day by day", "/chart.svg?name=lower&range=season", 200, []string{"10 Sep 2025 to 21 Jan 2026", "air, lowest", "h/day"}},
		{"a day of which nothing was kept", "/house?name=lower&until=2024-01-20", 200, []string{"Nothing was kept in Sat 20 Jan 2024"}},
		{"a house that is not there", "/house?name=barn", 404, []string{"there is no house &#34;barn&#34;; there are: lower"}},
		{"its picture", "/chart.svg?name=barn", 404, []string{`there is no house "barn"; there are: lower`}},
		{"its events", "/live?name=barn", 404, []string{"there are: lower"}},
		{"no house at all", "/house", 404, []string{"there are: lower"}},
		{"a span that is none", "/house?name=lower&range=fortnight", 400, []string{"write range=day, week, season or year"}},
		{"a date that is none", "/house?name=lower&until=2026-02-30", 400, []string{"write it as until=2026-01-21"}},
		{"tomorrow", "/chart.svg?name=lower&until=2026-01-22", 400, []string{"write a day up to 2026-01-21"}},
		{"long ago", "/chart.svg?name=lower&until=1999-12-31", 400, []string{"not between 2000-01-01 and today"}},
		{"a picture as wide as a wall", "/chart.svg?name=lower&width=1000000", 400, []string{"write 320 to 1600 pixels"}},
		{"a negative number of houses", "/?after=-3", 400, []string{"write after=0"}},
		{"a script in the query", "/house?name=%3Cscript%3Ealert(1)%3C/script%3E", 404, []string{"&lt;script&gt;"}},
		{"a script as the span", "/house?name=lower&range=%3Cscript%3E", 400, []string{"&lt;script&gt;"}},
		{"a query that is broken", "/house?name=lower&%zz;;&range", 200, []string{"The last 24 hours"}},
		{"the style", "/style.css", 200, []string{"prefers-color-scheme"}},
		{"the script", "/live.js", 200, []string{"EventSource"}},
		{"the icon", "/icon.svg", 200, []string{"<svg"}},
		{"something else", "/secret", 404, nil},
	} {
		w := get(t, f.options(), tt.path)
		text := body(t, w.Body)
		if w.Code != tt.status {
			t.Errorf("%s: %d, want %d\n%.300s", tt.name, w.Code, tt.status, text)
		}
		for _, part := range tt.has {
			if !strings.Contains(text, part) {
				t.Errorf("%s: lacks %q in\n%.3000s", tt.name, part, text)
			}
		}
		if strings.Contains(text, "<script>") {
			t.Errorf("%s: a script stands in the page", tt.name)
		}
	}
}

func TestAPlainClientIsAnsweredBesideThePage(t *testing.T) {
	o := live(t, 1).options()
	o.Beside = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, "plain ", r.Method, " ", r.URL.Path) })
	h := page.New(o)
	for _, tt := range []struct{ name, method, path, accept, want string }{
		{"curl", "GET", "/", "*/*", "plain GET /"},
		{"one that wants text", "GET", "/", "text/plain", "plain GET /"},
		{"what the page does not know", "GET", "/metrics", "text/html", "plain GET /metrics"},
		{"one that would change something", "POST", "/house", "text/html", "plain POST /house"},
	} {
		r := httptest.NewRequest(tt.method, tt.path, nil)
		r.Header.Set("Accept", tt.accept)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if got := w.Body.String(); got != tt.want {
			t.Errorf("%s: %.60q, want %q", tt.name, got, tt.want)
		}
	}
}

// TestATextFromOutsideIsEscaped names a probe as an attacker would.
func TestATextFromOutsideIsEscaped(t *testing.T) {
	f := live(t, 1)
	const evil = `<script>alert("1")</script>`
	set := *f.snap.Settings
	set.House.Probes = append([]house.Probe(nil), set.House.Probes...)
	for i := range set.House.Probes {
		set.House.Probes[i].Name = fmt.Sprint(evil, i)
	}
	f.snap.Settings = &set
	f.snap.Sentence = evil + ". " + evil
	f.snap.Verdicts[0] = judge.Verdict{}
	for _, path := range []string{"/", "/house?name=lower", "/chart.svg?name=lower"} {
		text := body(t, get(t, f.options(), path).Body)
		if strings.Contains(text, "<script>") || !strings.Contains(text, "&lt;script&gt;") {
			t.Errorf("%s: not escaped", path)
		}
	}
	var farm page.Farm
	if err := json.Unmarshal(get(t, f.options(), "/api/v1/farm").Body.Bytes(), &farm); err != nil || farm.Houses[0].Readings[0].Probe != evil+"0" {
		t.Errorf("the data have %v, %v", farm.Houses, err)
	}
}

// TestThePageStaysSmallAndAtHome adds up what a phone loads, and looks where from.
func TestThePageStaysSmallAndAtHome(t *testing.T) {
	f := live(t, 8)
	address := regexp.MustCompile(`(?:src|href|srcset|data-live)="([^"]*)"`)
	for _, start := range []string{"/", "/house?name=lower&range=day", "/house?name=lower&range=week", "/house?name=lower&range=year"} {
		w := get(t, f.options(), start)
		if csp := w.Header().Get("Content-Security-Policy"); !strings.HasPrefix(csp, "default-src 'self'") || strings.Contains(csp, "unsafe") {
			t.Errorf("%s: policy %q", start, csp)
		}
		text := body(t, w.Body)
		total, parts := len(text), ""
		for _, m := range address.FindAllStringSubmatch(text, -1) {
			to := strings.ReplaceAll(m[1], "&amp;", "&")
			if !strings.HasPrefix(to, "/") && !strings.HasPrefix(to, "#") || strings.HasPrefix(to, "//") {
				t.Errorf("%s leads to %s", start, to)
			}
			if strings.HasPrefix(to, "/chart.svg") || strings.Contains(to, ".css") || strings.Contains(to, ".js") || strings.Contains(to, "icon") {
				n := get(t, f.options(), to).Body.Len()
				total, parts = total+n, fmt.Sprintf("%s %s: %d;", parts, to, n)
			}
		}
		if strings.Contains(text, " style=") || strings.Contains(text, " onclick=") || strings.Contains(text, "<style") {
			t.Errorf("%s: what its own policy forbids", start)
		}
		if total > 150_000 {
			t.Errorf("%s takes %d bytes:%s", start, total, parts)
		}
		t.Logf("%s: %d bytes", start, total)
	}
}

func TestAThousandHousesComeByForties(t *testing.T) {
	f := live(t, 1)
	v := &controller.View{Believed: true, Reloaded: true}
	for i := range 1000 {
		s, set := *f.snap, *f.snap.Settings
		set.House.Name = fmt.Sprintf("house %d", i)
		s.Settings = &set
		v.Houses = append(v.Houses, controller.Shown{Snapshot: &s, Counted: s.Account})
	}
	o := f.options()
	o.View = func() *controller.View { return v }
	for _, tt := range []struct {
		path     string
		articles int
		has, not string
	}{
		{"/", 40, `href="/?after=40"`, ">Houses before these<"},
		{"/?after=980", 20, `href="/?after=940"`, ">More houses<"},
		{"/?after=2000", 0, `href="/?after=960"`, ">More houses<"},
	} {
		text := body(t, get(t, o, tt.path).Body)
		if n := strings.Count(text, "<article"); n != tt.articles || !strings.Contains(text, tt.has) || strings.Contains(text, tt.not) {
			t.Errorf("%s: %d houses, wants %q and not %q", tt.path, n, tt.has, tt.not)
		}
		if len(text) > 150_000 {
			t.Errorf("%s: %d bytes", tt.path, len(text))
		}
	}
	if text := body(t, get(t, o, "/house?name=x").Body); !strings.Contains(text, "house 39, and 960 more") {
		t.Errorf("%.600s", text)
	}
	var farm page.Farm
	if err := json.Unmarshal(get(t, o, "/api/v1/farm").Body.Bytes(), &farm); err != nil || len(farm.Houses) != 1000 || farm.Houses[999].Name != "house 999" {
		t.Errorf("%d houses in the data, %v", len(farm.Houses), err)
	}
}

func TestAFarmWithoutDataSaysSo(t *testing.T) {
	f := live(t, 1)
	empty := &controller.View{Believed: true, Reloaded: true, Waiting: []string{"new"}}
	for _, tt := range []struct {
		name, path, want string
		change           func(o *page.Options)
	}{
		{"a house that opens its devices", "/", "No reading yet.", func(o *page.Options) { o.View = func() *controller.View { return empty } }},
		{"the same, asked for", "/house?name=new", "house new has not been read yet", func(o *page.Options) { o.View = func() *controller.View { return empty } }},
		{"no house at all", "/", "No house has been read yet.", func(o *page.Options) {
			o.View = func() *controller.View { return &controller.View{Believed: true, Reloaded: true} }
		}},
		{"no history", "/house?name=lower", "no history is kept on this board", func(o *page.Options) { o.History = nil }},
		{"one that is not begun", "/house?name=lower", "Nothing is kept yet", func(o *page.Options) { o.History = func() (*history.Reader, error) { return nil, history.ErrNone } }},
		{"one that cannot be read", "/house?name=lower", "No pictures: the card is gone.", func(o *page.Options) {
			o.History = func() (*history.Reader, error) { return nil, errors.New("the card is gone") }
		}},
		{"its picture", "/chart.svg?name=lower", "the card is gone", func(o *page.Options) {
			o.History = func() (*history.Reader, error) { return nil, errors.New("the card is gone") }
		}},
		{"no settings", "/house?name=lower", "°C", func(o *page.Options) { o.Settings = nil }},
	} {
		o := f.options()
		tt.change(&o)
		if text := body(t, get(t, o, tt.path).Body); !strings.Contains(text, tt.want) {
			t.Errorf("%s: lacks %q\n%.2000s", tt.name, tt.want, text)
		}
	}
	var farm page.Farm
	bare := page.Options{View: func() *controller.View { return empty }}
	if err := json.Unmarshal(get(t, bare, "/api/v1/farm").Body.Bytes(), &farm); err != nil || farm.Schema != 1 || farm.Houses == nil || farm.Waiting[0] != "new" {
		t.Errorf("data %+v, %v", farm, err)
	}
}

func TestNoContactIsToldAfterThreeTicks(t *testing.T) {
	for _, tt := range []struct {
		name string
		tick time.Duration
		age  time.Duration
		told bool
	}{
		{"three ticks old", 10 * time.Second, 30 * time.Second, false},
		{"older", 10 * time.Second, 30*time.Second + time.Millisecond, true},
		{"a quick clock has ten seconds", time.Millisecond, 10 * time.Second, false},
		{"and no more", time.Millisecond, 11 * time.Second, true},
	} {
		f := live(t, 1)
		f.snap.Tick, f.snap.Ticked = tt.tick, machine.Add(-tt.age)
		text := body(t, get(t, f.options(), "/").Body)
		if hidden := strings.Contains(text, `class="gone" hidden`); hidden == tt.told || !strings.Contains(text, "No contact since 05:00.") {
			t.Errorf("%s: hidden is %v", tt.name, hidden)
		}
		var farm page.Farm
		if err := json.Unmarshal(get(t, f.options(), "/api/v1/farm").Body.Bytes(), &farm); err != nil || farm.Houses[0].NoContact != tt.told {
			t.Errorf("%s: the data say %v, %v", tt.name, farm.Houses[0].NoContact, err)
		}
	}
}

func TestWhatIsWrongIsToldWithWhatToDo(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(s *controller.Snapshot, v *controller.View)
		want   []string
		first  string
	}{
		{"all is well", func(*controller.Snapshot, *controller.View) {}, nil, ""},
		{"smoke and a silent probe", func(s *controller.Snapshot, _ *controller.View) {
			s.Verdicts[5] = judge.Verdict{Quality: judge.Bad, Cause: judge.Stale, AgeS: 754}
			s.Decision.Alarms.Smoke = true
		}, []string{"Probe root is silent, since 12 min 34 s.", "Find the smoke."}, "Smoke"},
		{"the store cannot help", func(s *controller.Snapshot, _ *controller.View) { s.Decision.Alarms.FrostNoHelp = true }, []string{"Light the heater, cover the beds."}, "The crop is at its frost limit"},
		{"fans kept off", func(s *controller.Snapshot, _ *controller.View) { s.Decision.Alarms.HandOffFrost = true }, []string{"Give the fans back"}, "A person"},
		{"no air", func(s *controller.Snapshot, _ *controller.View) { s.Decision.Alarms.AirLost = true }, []string{"watch the crop yourself"}, "The air"},
		{"a weak fan is not pressing, a stuck one is", func(s *controller.Snapshot, _ *controller.View) {
			s.State.Stores[0].Fans[0].Fault, s.State.Stores[0].Fans[1].Fault = decide.Weak, decide.StuckOn
		}, []string{"Fan east of beds moves too little air.", "Lock out the disconnect"}, "Fan west of beds does not stop."},
		{"a fan that its own thermostat runs is not pressing", func(s *controller.Snapshot, _ *controller.View) {
			s.State.Stores[0].Fans[0].ByBackup = true
		}, []string{"Fan east of beds is run by its backup thermostat.", "Find the cause of the cold."}, ""},
		{"a relay that is gone", func(s *controller.Snapshot, _ *controller.View) { s.Inputs.Stores[0].Fans[0].Down = true }, []string{"Fan east of beds takes no orders."}, "Fan east"},
		{"water in the pipes", func(s *controller.Snapshot, _ *controller.View) { s.Inputs.Stores[0].PipeWater = decide.On }, []string{"Drain the pipes."}, "Water"},
		{"lost soil", func(s *controller.Snapshot, _ *controller.View) { s.Inputs.Stores[0].Soil.LostS = 7200 }, []string{"not been read for 2 h", "estimated"}, "The soil"},
		{"a damp night is no fault of the probe", func(s *controller.Snapshot, _ *controller.View) {
			s.Verdicts[2] = judge.Verdict{Value: 1, Quality: judge.Doubtful, Cause: judge.Pinned}
		}, nil, ""},
		{
			"a house that nobody commissioned", func(s *controller.Snapshot, _ *controller.View) { s.Commissioned.Kept = true },
			[]string{"Nobody has tried the fans", "loambank commission --house lower"},
			"Nobody",
		},
		{"one that was commissioned", func(s *controller.Snapshot, _ *controller.View) {
			s.Commissioned = controller.Commissioned{Kept: true, Whole: &commission.Baseline{}}
		}, nil, ""},
		{"one whose season has turned", func(s *controller.Snapshot, _ *controller.View) {
			at := time.Date(2025, time.March, 3, 12, 0, 0, 0, time.UTC)
			s.Commissioned = controller.Commissioned{Kept: true, Whole: &commission.Baseline{Finished: at}, Due: true}
		}, []string{"commissioned on 3 March 2025", "Commission it again"}, "The season has turned"},
		{"a fan that strays", func(s *controller.Snapshot, _ *controller.View) {
			s.Commissioned = controller.Commissioned{Kept: true, Whole: &commission.Baseline{}, Strays: []commission.Comparison{
				{Store: "beds", Fan: "east", What: commission.Power, Was: 480, Is: 384},
			}}
		}, []string{"20 % less", "look for water, roots, nests, collapsed pipe, clogged screen"}, "For an hour of running, fan east of beds draws 384 W"},
		{"faulty settings", func(_ *controller.Snapshot, v *controller.View) { v.Reloaded = false }, []string{"older settings are in force"}, ""},
		{"the bell", func(_ *controller.Snapshot, v *controller.View) { v.Alarm[0] = true }, []string{"The bell sounds."}, ""},
	} {
		f := live(t, 1)
		v := f.view()
		tt.change(f.snap, v)
		o := f.options()
		o.View = func() *controller.View { return v }
		text := body(t, get(t, o, "/").Body)
		for _, part := range tt.want {
			if !strings.Contains(text, part) {
				t.Errorf("%s: lacks %q", tt.name, part)
			}
		}
		if n := strings.Count(text, `<li class="`); n > 0 && tt.want == nil {
			t.Errorf("%s: %d warnings", tt.name, n)
		}
		var farm page.Farm
		if err := json.Unmarshal(get(t, o, "/api/v1/farm").Body.Bytes(), &farm); err != nil {
			t.Fatal(err)
		}
		if w := farm.Houses[0].Warnings; tt.first != "" && (len(w) == 0 || !strings.HasPrefix(w[0].Text, tt.first)) {
			t.Errorf("%s: %+v, want %q first", tt.name, w, tt.first)
		}
	}
}

func TestWhatIsLearnedIsShownOnceItIsKnown(t *testing.T) {
	f := live(t, 1)
	o := f.options()
	if text := body(t, get(t, o, "/").Body); strings.Contains(text, "Left tonight") || strings.Contains(text, "full") {
		t.Error("something is said of what is not known")
	}
	low := -11.7
	learned := &page.Learned{
		Tonight: &page.Tonight{HoldOutsideC: -12.2, Binds: "amount", LowC: &low, LowFrom: "typed in"},
		Stores:  []page.StoreLeft{{Known: true, FillRatio: 0.62, AvailableKWh: 84, HoursLeftS: 9.5 * 3600}},
	}
	o.Learned = func(string) *page.Learned { return learned }
	text := body(t, get(t, o, "/").Body)
	for _, part := range []string{
		"The setpoint holds down to 10 °F outside; 11 °F is expected (typed in).", "beds: 84 kWh left, 9 h 30 min at tonight&#39;s loss.",
		"how much heat there is", `value="62"`, "62 % full",
	} {
		if !strings.Contains(text, part) {
			t.Errorf("lacks %q", part)
		}
	}
	learned.Stores[0].Lasts = true
	if text := body(t, get(t, o, "/").Body); !strings.Contains(text, "84 kWh left, enough for the night") || strings.Contains(text, "9 h 30") {
		t.Error("a store that lasts has hours left")
	}
	learned.Stores[0].AvailableKWh = 0.4
	if text := body(t, get(t, o, "/").Body); !strings.Contains(text, "beds: no heat left that would warm the house.") || strings.Contains(text, "enough for the night") {
		t.Error("a store without heat is enough for the night")
	}
	learned.Stores[0].AvailableKWh, learned.Stores[0].Lasts, learned.Tonight.LowC = 84, false, nil
	if text := body(t, get(t, o, "/").Body); !strings.Contains(text, "beds: 84 kWh left.") {
		t.Error("a store has hours left though no low is expected")
	}
	learned.Stores[0].Known, learned.Tonight = false, nil
	if text := body(t, get(t, o, "/").Body); strings.Contains(text, "Left tonight") || strings.Contains(text, "full") {
		t.Error("something is said of what is no longer known")
	}
}

// TestTodayIsWhatTheAccountRoseBy compares with the account as it stood at midnight.
func TestTodayIsWhatTheAccountRoseBy(t *testing.T) {
	f := live(t, 2)
	var farm page.Farm
	if err := json.Unmarshal(get(t, f.options(), "/api/v1/farm").Body.Bytes(), &farm); err != nil {
		t.Fatal(err)
	}
	today, total := farm.Houses[0].Today, farm.Houses[0].Total
	if today == nil || total == nil || farm.Houses[0].Season != nil {
		t.Fatalf("today %v, total %v, season %v: the history is two days old", today, total, farm.Houses[0].Season)
	}
	hours := func(h *ledger.House) (s float64) {
		for _, fan := range h.Stores[0].Fans {
			s += fan.RunTotalS() / 3600
		}
		return s
	}
	const tick = 2 * 5.0 / 60 // of two fans: the last of the evening counts to the day before
	for _, v := range []struct {
		name           string
		got, want, tol float64
	}{
		{"fan hours", today.FanHours, hours(f.snap.Account) - hours(f.midnight), tick + 0.01},
		{"heat", today.HeatOutKWh, f.snap.Account.Stores[0].Out.KWh() - f.midnight.Stores[0].Out.KWh(), 1.5},
		{"electricity", today.ElectricityMoney, f.snap.Account.ElectricityMoney - f.midnight.ElectricityMoney, 0.02},
		{"fan hours of all time", total.FanHours, hours(f.snap.Account), 0.01},
	} {
		if math.Abs(v.got-v.want) > v.tol || v.want <= 0 {
			t.Errorf("%s: %v, want %v", v.name, v.got, v.want)
		}
	}
	f.snap.Account = ledger.New("lower", &f.snap.Settings.House.Decide) // the ledger was lost and began anew
	farm = page.Farm{}
	if err := json.Unmarshal(get(t, f.options(), "/api/v1/farm").Body.Bytes(), &farm); err != nil || farm.Houses[0].Today != nil {
		t.Errorf("today came to %+v, %v, out of a ledger that fell", farm.Houses[0].Today, err)
	}
}

func TestAMeteredFanIsNoEstimate(t *testing.T) {
	f := live(t, 1)
	set := *f.snap.Settings
	set.House.Probes = append(set.House.Probes[:len(set.House.Probes):len(set.House.Probes)],
		house.Probe{Name: "watts", Store: 0, Judge: judge.Settings{Role: judge.FanPower}})
	f.snap.Settings = &set
	a := &f.snap.Account.Stores[0]
	a.MeasuredIn, a.MeasuredOut = a.In, a.Out
	var farm page.Farm
	if err := json.Unmarshal(get(t, f.options(), "/api/v1/farm").Body.Bytes(), &farm); err != nil {
		t.Fatal(err)
	}
	if total := farm.Houses[0].Total; total.ElectricityEstimated || total.HeatEstimated {
		t.Errorf("%+v", total)
	}
}

func TestUnitsAreThoseOfTheSettings(t *testing.T) {
	f := live(t, 1)
	si := *f.set
	si.Display = 0
	o := f.options()
	o.Settings = func() *config.Settings { return &si }
	for _, path := range []string{"/house?name=lower", "/chart.svg?name=lower"} {
		us, metric := body(t, get(t, f.options(), path).Body), body(t, get(t, o, path).Body)
		if !strings.Contains(us, "°F") || strings.Contains(us, "°C") || !strings.Contains(metric, "°C") {
			t.Errorf("%s: °F or °C where the other is asked for", path)
		}
	}
}

func TestAnAssetIsNotSentTwice(t *testing.T) {
	h := page.New(live(t, 1).options())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", "/style.css", nil))
	r := httptest.NewRequest("GET", "/style.css", nil)
	r.Header.Set("If-None-Match", w.Header().Get("ETag"))
	again := httptest.NewRecorder()
	h.ServeHTTP(again, r)
	if again.Code != http.StatusNotModified || again.Body.Len() != 0 || w.Body.Len() == 0 {
		t.Errorf("%d, %d bytes", again.Code, again.Body.Len())
	}
}
