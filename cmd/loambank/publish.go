package main

import (
	"context"
	"encoding/json"
	"log/slog"
	"math"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller"
	"loambank/controller/decide"
	"loambank/drivers/mqtt"
)

// houseState is what a broker keeps of a house. Temperatures are °C; what is not known is left out.
type houseState struct {
	Schema   int          `json:"schema"` // 1
	Sentence string       `json:"sentence"`
	Air      *float64     `json:"air_celsius,omitempty"` // lowest at the crop
	Humidity *float64     `json:"humidity_ratio,omitempty"`
	Outside  *float64     `json:"outside_celsius,omitempty"`
	Stores   []storeState `json:"stores"`
}

type storeState struct {
	Name   string     `json:"name"`
	State  string     `json:"state"`
	Reason string     `json:"reason"`
	Soil   *float64   `json:"soil_celsius,omitempty"`
	Fans   []fanState `json:"fans"`
}

type fanState struct {
	Name  string `json:"name"`
	Stage uint8  `json:"stage"` // commanded; 0 is off
}

func stateOf(s *controller.Snapshot) houseState {
	out := houseState{Schema: schema, Sentence: s.Sentence, Stores: []storeState{}}
	out.Air, out.Outside = told(s.Inputs.CropLow), told(s.Inputs.Outside)
	if h := s.Inputs.Humidity; h.Quality.Usable() {
		v := thousandth(h.V)
		out.Humidity = &v
	}
	stores := s.Settings.House.Decide.Stores
	for i := range stores {
		d := &s.Decision.Stores[i]
		store := storeState{Name: stores[i].Name, State: d.State.String(), Reason: d.Reason.Code.String(), Fans: []fanState{}}
		if soil := s.Inputs.Stores[i].Soil; soil.Known {
			store.Soil = hundredth(soil.C)
		}
		for j := range stores[i].Fans {
			store.Fans = append(store.Fans, fanState{stores[i].Fans[j].Name, d.Stages[j]})
		}
		out.Stores = append(out.Stores, store)
	}
	return out
}

func told(t decide.Temperature) *float64 {
	if !t.Quality.Usable() {
		return nil
	}
	return hundredth(t.C)
}

// hundredth keeps a reading's noise from being told as news.
func hundredth(c unit.Celsius) *float64 {
	v := math.Round(float64(c)*100) / 100
	return &v
}

// tellEvery is how often a broker is told what changed.
const tellEvery = 10 * time.Second

// publish has the broker of the settings in force keep what each house does, until ctx is done. A
// broker that is away changes nothing else; that it is away is logged once.
func publish(ctx context.Context, view func() *controller.View, inForce func() *config.Settings, log *slog.Logger) {
	var to config.Publish
	var teller *mqtt.Teller
	leave := func() {
		if teller != nil {
			if err := teller.Close(); err != nil {
				log.Warn("the broker was not left in order", keyError, err)
			}
			teller = nil
		}
	}
	defer func() { leave() }()
	away := false
	for tick := time.NewTicker(tellEvery); ; {
		if now := inForce().Publish; now != to {
			leave()
			to, away = now, false
			if to.Present {
				var err error
				if teller, err = mqtt.NewTeller(to.To); err != nil {
					log.Error("nothing is published", keyError, err)
				}
			}
		}
		if teller != nil {
			tellHouses(teller, view(), log)
			if err := teller.Trouble(); (err != nil) != away {
				away = err != nil
				log.Warn("publishing", "broker_away", away, keyError, err)
			}
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			tick.Stop()
			return
		}
	}
}

func tellHouses(teller *mqtt.Teller, v *controller.View, log *slog.Logger) {
	for _, h := range v.Houses {
		text, err := json.Marshal(stateOf(h.Snapshot))
		if err != nil {
			log.Error("a house cannot be published", keyError, err)
			continue
		}
		teller.Tell(h.Settings.House.Name, string(text))
	}
}
