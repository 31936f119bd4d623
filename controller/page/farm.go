package page

import (
	"time"

	"loambank/config/unit"
	"loambank/controller/ledger"
	"loambank/controller/report"
)

// Farm is all that the page shows, as it stands at /api/v1/farm. Units are SI and stand in the
// names; money is in the house's currency. What is not known is left out, never zero.
type Farm struct {
	Schema   int       `json:"schema"` // 1
	Time     time.Time `json:"time"`   // when it was asked, by the board's clock
	Bell     bool      `json:"bell_sounds"`
	Warnings []Warning `json:"warnings"` // of the farm, not of one house
	Houses   []House   `json:"houses"`
	Waiting  []string  `json:"waiting"` // houses that have not been read yet
}

// House is one house as of its last tick.
type House struct {
	Name      string    `json:"name"`
	Time      time.Time `json:"time"`       // of the tick, in the site's zone
	AgeS      float64   `json:"age_s"`      // since the tick, by the machine's clock
	NoContact bool      `json:"no_contact"` // AgeS is over LateS
	LateS     float64   `json:"late_s"`     // three ticks, at least 10 s
	Window    string    `json:"window,omitempty"`
	Sentence  string    `json:"sentence"`
	Warnings  []Warning `json:"warnings"` // the most pressing first

	CropC         *float64   `json:"crop_c,omitempty"`   // by the vote of its probes
	LowestC       *float64   `json:"lowest_c,omitempty"` // crop air since sunset
	LowestAt      *time.Time `json:"lowest_at,omitempty"`
	HumidityRatio *float64   `json:"humidity_ratio,omitempty"`
	OutsideC      *float64   `json:"outside_c,omitempty"`

	SetpointC float64  `json:"setpoint_c"`
	FrostC    *float64 `json:"frost_c,omitempty"` // absent where there is no crop

	Readings []Reading `json:"readings"` // every probe, in the order of the settings
	Stores   []Store   `json:"stores"`

	Tonight *Tonight `json:"tonight,omitempty"`
	Today   *Account `json:"today,omitempty"`
	Season  *Account `json:"season,omitempty"`
	Total   *Account `json:"total,omitempty"` // since the account began

	style style
}

// style is how the house's grower is spoken to.
type style struct {
	display unit.Display
	zone    *time.Location
}

// Reading is one probe. Exactly one of the values is there where Quality is not bad, none where it is.
type Reading struct {
	Probe   string  `json:"probe"`
	Store   string  `json:"store,omitempty"` // empty is the house itself
	Role    string  `json:"role"`
	Place   string  `json:"place,omitempty"`
	DepthM  float64 `json:"depth_m,omitempty"`
	Quality string  `json:"quality"` // good, doubtful or bad
	Cause   string  `json:"cause"`   // why it is not good; fine where it is
	AgeS    float64 `json:"age_s"`

	TemperatureC  *float64 `json:"temperature_c,omitempty"`
	HumidityRatio *float64 `json:"humidity_ratio,omitempty"`
	PowerW        *float64 `json:"power_w,omitempty"`
	On            *bool    `json:"on,omitempty"` // of a contact
	CO2Ppm        *float64 `json:"co2_ppm,omitempty"`
	LightLux      *float64 `json:"light_lux,omitempty"`
	RadonBqM3     *float64 `json:"radon_bq_m3,omitempty"`
}

// Store is one store and what its fans do.
type Store struct {
	Name          string   `json:"name"`
	State         string   `json:"state"`  // of the closed list: rest, charge, discharge, …
	Reason        string   `json:"reason"` // of the closed list of reasons
	Running       bool     `json:"running"`
	RunS          float64  `json:"run_s"` // since its first fan started
	HeatW         float64  `json:"heat_w"`
	PowerW        float64  `json:"power_w"`          // expected
	SoilC         *float64 `json:"soil_c,omitempty"` // between the pipes, carried on while its probes are lost
	SoilLostS     float64  `json:"soil_lost_s,omitempty"`
	PipeDepthM    float64  `json:"pipe_depth_m,omitempty"`
	FillRatio     *float64 `json:"fill_ratio,omitempty"`
	AvailableKWh  *float64 `json:"available_kwh,omitempty"`
	HoursLeftS    *float64 `json:"hours_left_s,omitempty"`
	LastsTheNight bool     `json:"lasts_the_night,omitempty"`
	Fans          []Fan    `json:"fans"`
}

// Fan is one fan.
type Fan struct {
	Name  string `json:"name"`
	Stage int    `json:"stage"` // commanded; 0 is off
	Obeys bool   `json:"obeys"`
	Fault string `json:"fault,omitempty"`
	// ByBackup says that it is off and its own frost thermostat runs it.
	ByBackup bool `json:"by_backup_thermostat,omitempty"`
}

// Tonight is what is left of the stores tonight, all of them together. A nil one is not known.
type Tonight struct {
	HoldOutsideC float64  `json:"hold_outside_c"` // the outside down to which the setpoint holds
	Binds        string   `json:"binds"`          // holds, rate, amount or unknown
	LowC         *float64 `json:"expected_low_c,omitempty"`
	LowFrom      string   `json:"expected_low_from,omitempty"` // where the expected low comes from
}

// Account is what the fans ran, cost and moved in a time.
type Account struct {
	From                 *time.Time `json:"from,omitempty"` // absent: since the account began
	FanHours             float64    `json:"fan_hours"`
	Starts               int64      `json:"starts"`
	ElectricityKWh       float64    `json:"electricity_kwh"`
	HeatInKWh            float64    `json:"heat_in_kwh"`
	HeatOutKWh           float64    `json:"heat_out_kwh"`
	CondensateLitres     float64    `json:"condensate_litres"`
	Currency             string     `json:"currency,omitempty"` // without it there is no money
	ElectricityMoney     float64    `json:"electricity_money"`
	FuelAvoidedMoney     *float64   `json:"fuel_avoided_money,omitempty"` // always an estimate, gross; of a heated house
	ElectricityEstimated bool       `json:"electricity_estimated"`        // by stated powers, not a meter
	HeatEstimated        bool       `json:"heat_estimated"`               // in whole or in part
	// Saved is absent where nothing was told of just this time.
	Saved *report.Saved `json:"saved,omitempty"`

	told *ledger.Saving
}

// Warning is something wrong, in plain words, and what to do about it.
type Warning struct {
	Now  bool   `json:"now"` // somebody must act now
	Text string `json:"text"`
	Do   string `json:"do,omitempty"`
}
