package history_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller/decide"
	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
	"loambank/controller/ledger"
)

const site = `
zone   = "Europe/Rome"
site   = { latitude = 45.4, longitude = 11.9, elevation = "0 m" }
season = { topping_up = "09-15", first_frost = "11-01", last_frost = "04-10" }

[prices]
currency    = "EUR"
electricity = "0.04 €/kWh"
fuel        = { kind = "electricity", price = "0.24 €/kWh", efficiency = "200 %" }
`

// fern is an invented house of eleven probes, two stores and three fans.
const fern = `
[[house]]
name     = "NAME"
crop     = "lettuce"
setpoint = "4 °C"
frost    = "1 °C"
heater   = { setpoint = "3 °C" }
probe = [
  { role = "air", place = "crop", name = "air", driver = "file", path = "NAME/air" },
  { role = "air", place = "crop", name = "air north", driver = "file", path = "NAME/air2" },
  { role = "air", place = "intake", name = "intake", driver = "file", path = "NAME/intake" },
  { role = "humidity", name = "damp", driver = "file", path = "NAME/damp", column = "NAME rh_percent" },
  { role = "outside", name = "outside", driver = "file", path = "NAME/outside" },
]
  [[house.store]]
  name = "beds"
  probe = [
    { role = "soil", place = "between", name = "deep", depth = "50 cm", driver = "file", path = "NAME/deep" },
    { role = "soil", place = "root", name = "root", depth = "12 cm", driver = "file", path = "NAME/root" },
    { role = "duct-in", name = "in", driver = "file", path = "NAME/in" },
    { role = "duct-out", name = "out", driver = "file", path = "NAME/out" },
  ]
  fan = [
    { name = "east", driver = "file", path = "NAME/east", power = "600 W", flow = "1800 m³/h", flow_is = "measured" },
    { name = "west", driver = "file", path = "NAME/west", power = "400 W", flow = "1080 m³/h", flow_is = "measured" },
  ]
  [[house.store]]
  name = "path"
  probe = [
    { role = "soil", place = "between", name = "under", depth = "50 cm", driver = "file", path = "NAME/under" },
    { role = "fan-power", name = "watts", driver = "file", path = "NAME/watts" },
  ]
  fan = [ { name = "north", driver = "file", path = "NAME/north", power = "100 W", flow = "360 m³/h", flow_is = "measured" } ]
`

// november is when the tests' farms begin, in the site's zone.
func november(t testing.TB) time.Time {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Rome")
	if err != nil {
		t.Fatal(err)
	}
	return time.Date(2026, time.November, 25, 6, 2, 3, 456789, zone)
}

// farm is some houses that tick on made-up weather.
type farm struct {
	t      testing.TB
	db     *history.DB
	text   []byte
	now    time.Time
	every  time.Duration
	random *rand.Rand
	houses []*farmHouse

	each func(h *farmHouse, now time.Time, seen *house.Seen, result *house.Result) // what the tick was
}

type farmHouse struct {
	name     string
	s        *house.Settings
	house    *house.House
	account  *ledger.House
	wantsKey bool
	inForce  decide.Decision
}

// farmOf makes houses of these names, and lets them begin.
func farmOf(t testing.TB, db *history.DB, names ...string) *farm {
	t.Helper()
	text := site
	for _, name := range names {
		text += strings.ReplaceAll(fern, "NAME", name)
	}
	s, err := config.Parse("farm.toml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	f := &farm{
		t: t, db: db, text: []byte(text), now: november(t), every: 10 * time.Second,
		random: rand.New(rand.NewPCG(1, 2)),
	}
	for i := range s.Houses {
		set := &s.Houses[i].House
		h := &farmHouse{name: set.Name, s: set, house: house.New(set, house.State{}), account: ledger.New(set.Name, &set.Decide)}
		f.houses = append(f.houses, h)
	}
	f.begin(history.Started)
	return f
}

// begin restores each house from what it remembers, as a start does.
func (f *farm) begin(kind history.Kind) {
	for _, h := range f.houses {
		saved := h.house.Save()
		f.db.Begin(history.Begin{House: h.s, Kind: kind, Now: f.now, Settings: f.text, Saved: saved})
		if kind != history.Key {
			h.house = house.Restore(h.s, saved)
		}
		h.wantsKey = false
	}
}

// run ticks every house for a time.
func (f *farm) run(d time.Duration) {
	for end := f.now.Add(d); f.now.Before(end); {
		f.tick()
	}
}

func (f *farm) tick() {
	jitter := time.Duration(f.random.Int64N(3e6))
	f.now = f.now.Add(f.every + jitter)
	for _, h := range f.houses {
		seen := house.Seen{StepS: (f.every + jitter).Seconds(), Believed: true, Raw: f.readings(h)}
		f.give(h, seen)
	}
}

// give is one tick of one house.
func (f *farm) give(h *farmHouse, seen house.Seen) {
	if h.wantsKey {
		f.db.Begin(history.Begin{House: h.s, Kind: history.Key, Now: f.now, Settings: f.text, Saved: h.house.Save()})
	}
	result := h.house.Tick(seen, f.now)
	h.account.Add(&h.s.Decide, &result.Inputs, &h.inForce, seen.StepS)
	h.inForce = result.Decision
	f.db.Keep()
	h.wantsKey = f.db.Record(h.name, f.now, &seen, &result, h.account)
	if f.each != nil {
		f.each(h, f.now, &seen, &result)
	}
}

// readings are those of a day with sun: soil and air in sixteenths of a degree as from a DS18B20,
// intake air and humidity in the 16-bit steps of an SHT4x, each with its noise.
func (f *farm) readings(h *farmHouse) []judge.Raw {
	hour := float64(f.now.Unix()%86400) / 3600
	sun := math.Sin((hour - 8) / 24 * 2 * math.Pi)
	noise := f.random.NormFloat64
	sixteenths := func(c float64) float64 { return math.Round(16*(c+0.03*noise())) / 16 }
	air := 8 + 9*sun
	values := []float64{
		sixteenths(air), sixteenths(air - 0.4),
		-45 + 175*math.Round((air+45.5+0.02*noise())/175*65535)/65535,
		math.Round((0.8-0.2*sun+0.002*noise())*65535) / 65535,
		sixteenths(3 + 5*sun),
		sixteenths(13 + sun/10), sixteenths(12 + sun), sixteenths(air), sixteenths(11 + sun),
		sixteenths(12.5), math.Round(100 + 3*noise()),
	}
	raw := make([]judge.Raw, len(h.s.Probes))
	for i := range raw {
		raw[i] = judge.Raw{Value: values[i], OK: f.random.IntN(200) > 0}
	}
	return raw
}

func open(t testing.TB, dir string) *history.DB {
	t.Helper()
	db, notes, err := history.Open(dir, november(t), nil)
	if err != nil || notes.Aside != nil {
		t.Fatalf("open: %+v, %v", notes, err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func reader(t testing.TB, dir string) *history.Reader {
	t.Helper()
	r, err := history.OpenReader(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

func flush(t testing.TB, db *history.DB) {
	t.Helper()
	if err := db.Flush(); err != nil {
		t.Fatal(err)
	}
}

// all reads a sequence to its end.
func all[T any](t testing.TB, seq func(func(T, error) bool)) (list []T) {
	t.Helper()
	for x, err := range seq {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, x)
	}
	return list
}
