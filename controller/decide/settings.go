package decide

import (
	"loambank/config/unit"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// Sizes of the fixed tables in State and Decision. A house with more is refused by config.
const (
	MaxStores  = 4  // soil stores in one house
	MaxFans    = 6  // fans of one store
	MaxActions = 16 // calendar actions of the site
)

// Settings is everything Step must know of one house: complete, checked and immutable.
// Package config builds it; nothing in here is checked again.
type Settings struct {
	Season  season.Settings  // site, windows and calendar actions
	Actions []ActionSettings // what each of Season.Actions does in this house, same order
	Tariff  tariff.Settings
	Cold    season.Dates // the cold months: first frost to last frost

	// Policies[0] holds where no window covers; Policies[i+1] holds in Season.Windows[i].
	Policies []Policy
	Stores   []Store // at most MaxStores

	Heater   Heater // the zero value is an unheated house
	Fallback Duty
	GraceS   float64 // time without usable air before fallback, s

	PressurePa float64 // station pressure, Pa: humid air at this elevation
	// HouseLossWK is the heat the house loses per kelvin over outside, W/K. It tells how far one
	// store's heat moves the shared air before the next store is decided.
	HouseLossWK float64

	StaggerS        float64 // least time between two starts in this house, s
	MaxPowerW       float64 // fans of this house together, W; 0 is no limit
	GeneratorPowerW float64 // the same while on the generator; 0 is no limit

	// WorthBand is how far over its cost running must pay to start (1.2); it stops under 1.0.
	WorthBand float64
	// MinRatio stands in where prices are missing: kWh of heat per kWh of fan electricity.
	MinRatio float64
}

// Policy is what a seasonal window, or the house itself where none covers, asks for.
type Policy struct {
	Allow Allow

	Setpoint     unit.Celsius // crop air under which discharging starts
	SetpointBand unit.Kelvin  // discharging stops this far above

	Crop      bool         // false where crop = "none": nothing to save from frost
	Frost     unit.Celsius // crop air at or under which frost protection starts
	FrostBand unit.Kelvin  // frost protection stops this far above
	FrostGain unit.Kelvin  // how much warmer the soil must be for it

	ChargeFloor unit.Celsius // crop air above which heat may be taken

	HumidityLimit float64      // relative humidity over which drying starts, 0 to 1
	HumidityBand  float64      // drying stops this far under
	DryGain       unit.Kelvin  // how far the soil must be under the dew point
	DryFloor      unit.Celsius // crop air above which the house can spare the heat
	DryPerDayS    float64      // longest drying in a local day, s

	// CropWorth is the worth of a kWh brought up in an unheated house, currency per kWh;
	// 0 is not stated.
	CropWorth float64

	Stores []StorePolicy // same order as Settings.Stores
}

// StorePolicy is the part of a policy that may differ between stores.
type StorePolicy struct {
	Margin     unit.Kelvin // house air over soil to start charging
	MarginBand unit.Kelvin // charging stops at Margin − MarginBand
	Gain       unit.Kelvin // soil over house air to start discharging
	GainBand   unit.Kelvin // discharging stops at Gain − GainBand
	SoilCap    unit.Celsius
	SoilFloor  unit.Celsius
}

// Allow is the set of activities a window allows.
type Allow struct{ Charge, Discharge, Dry bool }

// Heater is the house's own heater, which this program reads and never drives.
type Heater struct {
	Present  bool
	Setpoint unit.Celsius
	Band     unit.Kelvin
	RestS    float64 // charging waits this long after the heater ran, s
	Reported bool    // a heater-on probe exists
}

// Duty is what the fans do while the air cannot be read. The zero value keeps the fans off.
type Duty uint8

// The closed list of fallback duties.
const (
	DutyOff   Duty = iota
	DutyNight      // in the cold months from sunset to sunrise while the soil is warm
)

// Store is one body of soil with its fans.
type Store struct {
	Name string
	Fans []Fan // at most MaxFans

	MinRunS       float64
	MinRestS      float64
	StartsPerHour float64 // 0 is no limit; n means 3600/n s from start to start

	// WaterHoldsFrost is the stricter choice that standing water holds frost protection too.
	WaterHoldsFrost bool
	// Effectiveness is the assumed exchange until one is learned (Learned), 0 to 1 (0.6).
	Effectiveness float64
}

// Fan is one air mover.
type Fan struct {
	Name      string
	PowerW    float64 // at full speed
	FlowM3s   float64 // at full speed, moist air at the intake
	Catalogue bool    // FlowM3s is a maker's figure: half of it is believed
	// Levels are the speeds it can run at as fractions of full flow, rising, the last 1.
	// An on/off fan has one. Stage n runs at Levels[n-1]; stage 0 is off.
	Levels []float64
	ProofS float64 // a proof must agree within this time, s; 0 means no proof is wired
	// Backup says that a frost thermostat of its own, beside the relay, runs the fan too, in air at
	// or under BackupAt.
	Backup   bool
	BackupAt unit.Celsius
}

// ActionSettings is what a calendar action does in this house.
type ActionSettings struct {
	Name string
	// Stores says which stores it runs; a house that it does not concern has none.
	Stores [MaxStores]bool
	RunS   float64
	// TopUp marks a burst that puts heat into the soil: it needs margin and cap.
	TopUp bool
}
