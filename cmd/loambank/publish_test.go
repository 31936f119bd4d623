package main

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// What is not known is left out, and a reading's noise is no news.
func TestWhatABrokerKeepsOfAHouse(t *testing.T) {
	s := &controller.Snapshot{
		Sentence: "Crop safe: house 3.3 °C.",
		Settings: &config.House{House: house.Settings{Name: "lower", Decide: decide.Settings{
			Stores: []decide.Store{{Name: "beds", Fans: []decide.Fan{{Name: "east"}, {Name: "west"}}}, {Name: "path", Fans: []decide.Fan{{Name: "only"}}}},
		}}},
	}
	s.Inputs.CropLow = decide.Temperature{C: 3.3127, Quality: judge.Doubtful}
	s.Inputs.Outside = decide.Temperature{C: -9, Quality: judge.Bad}
	s.Inputs.Humidity = decide.Fraction{V: 0.91239, Quality: judge.Good}
	s.Inputs.Stores[0].Soil = judge.Carried{C: 13.875, Known: true}
	s.Decision.Stores[0] = decide.StoreDecision{
		State: decide.Discharge, Reason: decide.Reason{Code: decide.DischargePays}, Stages: [decide.MaxFans]uint8{2, 0},
	}
	text, err := json.Marshal(stateOf(s))
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"schema":1,"sentence":"Crop safe: house 3.3 °C.","air_celsius":3.31,"humidity_ratio":0.912,"stores":[` +
		`{"name":"beds","state":"discharge","reason":"discharge-pays","soil_celsius":13.88,"fans":[{"name":"east","stage":2},{"name":"west","stage":0}]},` +
		`{"name":"path","state":"rest","reason":"none","fans":[{"name":"only","stage":0}]}]}`
	if diff := cmp.Diff(want, string(text)); diff != "" {
		t.Error(diff)
	}
}
