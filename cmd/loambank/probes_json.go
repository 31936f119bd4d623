package main

import (
	"encoding/json"
	"io"
	"math"

	"loambank/drivers/find"
)

// probesJSON is one line of `probes --json`: something that was found, that is configured and was
// not found, or that is missing on the machine. Of the readings at most one is there; none is where
// the thing was not read.
type probesJSON struct {
	Schema     int      `json:"schema"`
	Kind       string   `json:"kind"`                 // "found", "absent" or "advice"
	Where      string   `json:"where"`                // "1-Wire", "I²C", "file", "GPIO"
	Bus        string   `json:"bus,omitempty"`        // "I2C1"; of a line its chip and number
	At         string   `json:"at,omitempty"`         // 1-Wire id, I²C address, path, name of the line
	Driver     string   `json:"driver,omitempty"`     // that reads or drives it
	Input      *int     `json:"input,omitempty"`      // of a chip with several, from 0
	Quantity   string   `json:"quantity,omitempty"`   // "temperature", "humidity", "pressure", "co2", "voltage", "light"
	Recognised string   `json:"recognised,omitempty"` // how
	Note       string   `json:"note,omitempty"`       // what to know of it, or the advice
	Machine    bool     `json:"machine,omitempty"`    // it tells of the machine itself
	Holder     string   `json:"holder,omitempty"`     // of a line: who has it
	Users      []string `json:"users,omitempty"`      // devices of the settings
	Fault      string   `json:"fault,omitempty"`      // why it was not read
	Stanza     string   `json:"stanza,omitempty"`     // for the settings, of what is new to them

	TemperatureC *float64 `json:"temperature_celsius,omitempty"`
	Humidity     *float64 `json:"humidity_ratio,omitempty"` // 0 to 1
	PressurePa   *float64 `json:"pressure_pascals,omitempty"`
	CO2          *float64 `json:"co2_ppm,omitempty"`
	VoltageV     *float64 `json:"voltage_volts,omitempty"`
	LightLux     *float64 `json:"illuminance_lux,omitempty"`
	Value        *float64 `json:"value,omitempty"` // of a file that stands for something else
}

func (v *survey) json(w io.Writer) error {
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	for _, i := range v.items {
		if err := out.Encode(i.json()); err != nil {
			return err
		}
	}
	for _, u := range v.absent {
		line := probesJSON{Schema: schema, Kind: "absent", Where: string(kindOf(u)), Bus: u.Bus, At: placeOf(u), Driver: u.Driver, Users: []string{u.Name}}
		if err := out.Encode(line); err != nil {
			return err
		}
	}
	for _, a := range v.advice {
		if err := out.Encode(probesJSON{Schema: schema, Kind: "advice", Where: string(a.Kind), Note: a.Text}); err != nil {
			return err
		}
	}
	return nil
}

func (i *item) json() probesJSON {
	line := probesJSON{
		Schema: schema, Kind: "found", Where: string(i.Kind), Bus: i.Bus, At: i.At, Driver: i.Stanza.Driver,
		Recognised: i.How, Note: i.Note, Machine: i.Own, Holder: i.Holder,
	}
	if i.Stanza.Driver == "ads1115" {
		line.Input = &i.Input
	}
	for _, u := range i.users {
		line.Users = append(line.Users, u.Name)
	}
	if i.idle() {
		line.Stanza = i.stanza()
	}
	if i.fault != nil {
		line.Fault = i.fault.Error()
	}
	if i.Measure != find.Nothing {
		line.Quantity = i.Measure.String()
	}
	into := map[find.Measure]**float64{
		find.Temperature: &line.TemperatureC, find.Humidity: &line.Humidity, find.Pressure: &line.PressurePa,
		find.CO2: &line.CO2, find.Voltage: &line.VoltageV, find.Light: &line.LightLux, find.Nothing: &line.Value,
	}
	if i.value != nil {
		rounded := math.Round(*i.value*1e6) / 1e6 // no sensor knows more, and every processor writes the same
		*into[i.Measure] = &rounded
	}
	return line
}
