package browser_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"
)

// stillFarm is one house whose readings are files of the test, in real time.
const stillFarm = `units  = "us"
zone   = "America/New_York"
tick   = "1 s"
site   = { latitude = 43.1, longitude = -75.2, elevation = "480 ft" }
season = { topping_up = "09-10", first_frost = "10-05", last_frost = "05-12" }
hand_users = ["grower"]
[[house]]
name     = "lower"
crop     = "lettuce"
setpoint = "42 °F"
frost    = "35 °F"
length   = "96 ft"
width    = "30 ft"
cover    = "double film"
probe = [
  { role = "air", place = "crop", name = "air", driver = "file", path = "air" },
  { role = "outside", name = "out", driver = "file", path = "out" },
]
  [[house.store]]
  name   = "beds"
  probe = [{ role = "soil", place = "between", name = "deep", depth = "18 in", driver = "file", path = "deep" }]
  fan = [{ name = "east", driver = "file", path = "east", power = "300 W", flow = "1000 cfm", flow_is = "measured" }]
`

// still starts the still farm, at its frost limit with warm soil: the fans bring heat up.
func still(t *testing.T, program string) *daemon {
	t.Helper()
	return stillIn(t, program, t.TempDir())
}

// stillIn is still in a folder that holds what it needs besides.
func stillIn(t *testing.T, program, dir string, more ...string) *daemon {
	t.Helper()
	for name, celsius := range map[string]string{"air": "1.5", "out": "-4.0", "deep": "14.0"} {
		write(t, dir+"/"+name, celsius+"\n")
	}
	return run(t, program, dir, stillFarm, more...)
}

// busy starts the invented farm of the demo with a clock on which an hour is a second.
func busy(t *testing.T, program string) *daemon {
	t.Helper()
	text, err := os.ReadFile("../../cmd/loambank/demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	// Where noon has just passed the first midnight is twelve hours away, whenever this runs.
	zone := fmt.Sprintf("Etc/GMT%+d", time.Now().UTC().Hour()-12)
	farm := strings.Replace(string(text), "America/New_York", zone, 1)
	// Fans run whatever the season is when the test runs.
	const often = "\n[[action]]\nname = \"often\"\ncron = \"20 */2 * * *\"\n"
	return run(t, program, t.TempDir(), farm+often, "--speed", "3600")
}

// farm is what is read of /api/v1/farm.
type farm struct {
	Houses []struct {
		Name     string    `json:"name"`
		Time     time.Time `json:"time"`
		Sentence string    `json:"sentence"`
		Stores   []struct {
			State string `json:"state"`
		} `json:"stores"`
	} `json:"houses"`
}

// shown is the farm as its daemon shows it to programs.
func (d *daemon) shown() (f farm) {
	d.t.Helper()
	r, err := http.Get(d.url("/api/v1/farm"))
	if err != nil {
		d.t.Fatal(err)
	}
	defer r.Body.Close()
	if err := json.NewDecoder(r.Body).Decode(&f); err != nil {
		d.t.Fatal(err)
	}
	return f
}
