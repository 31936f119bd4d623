package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"strconv"
	"strings"
	"time"

	"loambank/controller/decide"
	"loambank/controller/ledger"
)

var scraper = http.Client{Timeout: 5 * time.Second}

// scrape reads the metrics, and the time of the last tick where that is asked too. It reports
// whether it was answered.
func (c *killed) scrape(ticked bool) bool {
	c.t.Helper()
	now, ok := c.metrics()
	if !ok {
		return false
	}
	c.scrapes++
	counted := map[string]float64{}
	for series, v := range now {
		name, _, _ := strings.Cut(series, "{")
		if strings.HasSuffix(name, "_total") {
			counted[series] = v
		}
	}
	for series, v := range counted {
		was, there := c.seen[series]
		if v < was {
			c.t.Errorf("%s fell from %v to %v", series, was, v)
		}
		if !there {
			was = 0
		}
		c.rose[series] += v - was
	}
	for _, house := range []string{"lower", "upper"} {
		if !hasTicked(now, house) {
			continue
		}
		for series := range c.seen {
			if _, there := counted[series]; !there && strings.Contains(series, fmt.Sprintf("house=%q", house)) {
				c.t.Errorf("%s was shown, and is not any more", series)
			}
		}
	}
	maps.Copy(c.seen, counted)
	c.stamp = now["loambank_ledger_checkpoint_timestamp_seconds"]
	if ticked {
		c.ask()
	}
	return true
}

// hasTicked reports whether a house has ticked when it was scraped.
func hasTicked(now map[string]float64, house string) bool {
	_, shown := now[fmt.Sprintf(`loambank_state{house=%q,state="rest",store="beds"}`, house)]
	return shown
}

// metrics returns every series with its value.
func (c *killed) metrics() (all map[string]float64, ok bool) {
	answer, err := scraper.Get("http://" + c.address + "/metrics")
	if err != nil {
		return nil, false
	}
	defer answer.Body.Close()
	if all, err = exposition(answer.Body); errors.Is(err, strconv.ErrSyntax) {
		c.t.Error(err)
	}
	return all, err == nil
}

// exposition reads every series with its value. What was cut short is an error of its own, whatever
// its last line looks like.
func exposition(from io.Reader) (all map[string]float64, err error) {
	all = map[string]float64{}
	lines := bufio.NewScanner(from)
	for lines.Scan() {
		series, value, found := strings.Cut(lines.Text(), "} ")
		if found {
			series += "}"
		} else {
			series, value, _ = strings.Cut(lines.Text(), " ")
		}
		if strings.HasPrefix(series, "#") {
			continue
		}
		v, fault := strconv.ParseFloat(value, 64)
		if fault != nil {
			err = fmt.Errorf("the metrics hold %q: %w", lines.Text(), fault)
		}
		all[series] = v
	}
	if lines.Err() != nil {
		return nil, lines.Err()
	}
	return all, err
}

// ask notes the last tick of the houses, by the farm's clock.
func (c *killed) ask() {
	answer, err := scraper.Get("http://" + c.address + "/api/v1/farm")
	if err != nil {
		return
	}
	defer answer.Body.Close()
	if at, err := lastTick(answer.Body); err == nil && at.After(c.ticked) { // else cut short by the kill
		c.ticked = at
	}
}

// lastTick reads the last tick of the houses from what the program tells of its farm.
func lastTick(from io.Reader) (at time.Time, err error) {
	var farm struct {
		Houses []struct {
			Time time.Time `json:"time"`
		} `json:"houses"`
	}
	if err := json.NewDecoder(from).Decode(&farm); err != nil {
		return at, err
	}
	for _, h := range farm.Houses {
		if h.Time.After(at) {
			at = h.Time
		}
	}
	return at, nil
}

// exposed is what the metrics show of a checkpoint.
func exposed(on *ledger.Checkpoint) map[string]float64 {
	all := map[string]float64{}
	for i := range on.Houses {
		a := &on.Houses[i].Account
		all[fmt.Sprintf(`loambank_money_total{currency="USD",house=%q,kind="electricity"}`, a.Name)] = a.ElectricityMoney
		all[fmt.Sprintf(`loambank_money_total{currency="USD",house=%q,kind="fuel_avoided"}`, a.Name)] = a.FuelMoney
		for _, s := range a.Stores {
			for direction, heat := range map[string]ledger.Heat{"in": s.In, "out": s.Out} {
				all[fmt.Sprintf(`loambank_heat_kwh_total{direction=%q,house=%q,kind="sensible",store=%q}`, direction, a.Name, s.Name)] = heat.SensibleKWh
				all[fmt.Sprintf(`loambank_heat_kwh_total{direction=%q,house=%q,kind="latent",store=%q}`, direction, a.Name, s.Name)] = heat.LatentKWh
			}
			all[fmt.Sprintf(`loambank_condensate_litres_total{house=%q,store=%q}`, a.Name, s.Name)] = s.CondensateLitres
			for _, f := range s.Fans {
				of := fmt.Sprintf(`{fan=%q,house=%q,store=%q}`, f.Name, a.Name, s.Name)
				all["loambank_fan_starts_total"+of] = float64(f.Starts)
				all["loambank_fan_energy_kwh_total"+of] = f.EnergyKWh
				for what, runS := range f.RunS {
					all[fmt.Sprintf(`loambank_fan_run_seconds_total{fan=%q,house=%q,state=%q,store=%q}`,
						f.Name, a.Name, decide.Activity(what), s.Name)] = runS
				}
			}
		}
		for _, p := range a.Probes {
			store := ""
			if p.Name == "deep" {
				store = "beds"
			}
			all[fmt.Sprintf(`loambank_probe_errors_total{house=%q,probe=%q,store=%q}`, a.Name, p.Name, store)] = float64(p.Errors)
		}
	}
	return all
}
