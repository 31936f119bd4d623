package config

// HouseTable is one covered growing space.
type HouseTable struct {
	Name       string `koanf:"name"` // required, unique
	PolicyKeys `koanf:",squash"`

	// Fallback is what fans do while no air probe answers: "night" (default: in the cold months
	// from sunset to sunrise while the soil is warm) or "off".
	Fallback string   `koanf:"fallback"`
	Grace    Duration `koanf:"grace"`   // time without air before fallback; 0 s to 6 h, default 10 min
	Stagger  Duration `koanf:"stagger"` // least time between two starts; 0 s to 10 min, default 10 s
	// MaxPower is what this house's fans together may draw; default the site's.
	MaxPower Power `koanf:"max_power"`

	// Length, Width and Cover give the heat the house loses; HeatLoss states it instead. Length
	// 3 to 300 m, default 29 m; width 2 to 60 m, default 9 m; cover "single film", "double film"
	// (default), "twin wall" or "glass".
	Length   Length      `koanf:"length"`
	Width    Length      `koanf:"width"`
	Cover    string      `koanf:"cover"`
	HeatLoss Conductance `koanf:"heat_loss"` // 10 W/K to 100 kW/K
	// Screen is a thermal screen under the cover, closed in the dark; default false.
	Screen bool `koanf:"screen"`
	// AirChanges is how often an hour the closed house loses its air in calm; 0.05 to 10, default
	// that of a new house with its cover, 0.5 under double film, else 0.75. Wind doubles it.
	AirChanges *float64 `koanf:"air_changes"`

	Soil       SoilTable        `koanf:"soil"`
	Insulation *InsulationTable `koanf:"insulation"` // absent: none
	Vents      VentsTable       `koanf:"vents"`

	Heater *HeaterTable  `koanf:"heater"` // absent: an unheated house
	Probe  []ProbeTable  `koanf:"probe"`
	Store  []StoreTable  `koanf:"store"`  // 1 to 4
	Window []WindowTable `koanf:"window"` // the first that covers now wins, alone
}

// PolicyKeys is what a house asks for, and what a window may ask for otherwise.
type PolicyKeys struct {
	// Crop is what grows there: one of the crops known or a farm's own, or "none" where nothing
	// can freeze. A house needs a crop or a frost limit.
	Crop string `koanf:"crop"`
	// Setpoint is the crop air under which the store gives heat; -15 to 30 °C, default frost
	// limit + 3 K, and for crops hurt by chill no less than the chill.
	Setpoint     Temperature `koanf:"setpoint"`
	SetpointBand Difference  `koanf:"setpoint_band"` // discharging stops this far above; 0.2 to 6 K, default 1 K
	// Frost is the crop air at which the crop is saved, whatever it costs; -15 to 15 °C, default
	// the crop's limit + 1.5 K, since leaves under a clear sky are colder than air.
	Frost     Temperature `koanf:"frost"`
	FrostBand Difference  `koanf:"frost_band"` // frost protection stops this far above; 0.2 to 6 K, default 1 K
	FrostGain Difference  `koanf:"frost_gain"` // soil over air for it; 0.2 to 10 K, default 1 K
	// ChargeFloor is the crop air above which heat may be taken; -15 to 40 °C, default what the
	// heater holds + 3 K, unheated the end of discharging + 2 K.
	ChargeFloor   Temperature `koanf:"charge_floor"`
	HumidityLimit Share       `koanf:"humidity_limit"` // drying starts over it; 50 to 100 %, default 92 %
	HumidityBand  Share       `koanf:"humidity_band"`  // drying stops this far under; 0.5 to 30 %, default 4 %
	DryGain       Difference  `koanf:"dry_gain"`       // soil under the dew point; 0.2 to 10 K, default 1 K
	DryFloor      Temperature `koanf:"dry_floor"`      // crop air above which heat can be spared; -15 to 40 °C, default setpoint + 2 K
	DryPerDay     Duration    `koanf:"dry_per_day"`    // longest drying in a day; 0 s to 24 h, default 2 h
	// CropWorth is the worth of a kWh brought up in an unheated house, per kWh; default not
	// stated, and discharging for the crop is then not asked for its price.
	CropWorth Price `koanf:"crop_worth"`
}

// SoilTable is what lies under the house.
type SoilTable struct {
	// Texture is "loam" (default), "sand", "sandy loam", "silt loam" or "clay".
	Texture string `koanf:"texture"`
	// Moisture is the water in the soil around the pipes, of its volume; 2 to 50 %, and no more than
	// its pores hold; default 25 %, a bed that is farmed.
	Moisture Share `koanf:"moisture"`
	// Backfill is what lies around the pipes: "native" (default), the soil that was dug, or "stone".
	Backfill string `koanf:"backfill"`
}

// InsulationTable is a foam board standing in the ground all round the stores; both are required
// once one is stated.
type InsulationTable struct {
	Thickness Length `koanf:"thickness"` // 1 to 30 cm
	Depth     Length `koanf:"depth"`     // from the surface down; 0.1 to 3 m
}

// VentsTable is sides or flaps that let out heat that nobody can store; they are not driven.
type VentsTable struct {
	// Opens is the air from which they begin to open; 5 to 45 °C, default the charge floor + 8 K,
	// 26 °C at least.
	Opens Temperature `koanf:"opens"`
	// PerHour is how often an hour the air changes when they are wholly open; 0 (none) to 200,
	// default 30: rolled-up sides.
	PerHour *float64 `koanf:"per_hour"`
}

// HeaterTable is the house's own heater, which is read and never driven.
type HeaterTable struct {
	Setpoint Temperature `koanf:"setpoint"` // its thermostat; -15 to 35 °C; required
	Band     Difference  `koanf:"band"`     // it stops this far above; 0.1 to 6 K, default 1 K
	Output   HeatRate    `koanf:"output"`   // 100 W to 5 MW; default not stated
	Rest     Duration    `koanf:"rest"`     // charging waits this long after it ran; 0 s to 6 h, default 30 min
}

// WindowTable is a seasonal policy window: when, what is allowed, and what it asks for otherwise.
// A key it does not state is the house's; a window with its own crop takes that crop's frost limit
// and setpoint.
type WindowTable struct {
	Name  string `koanf:"name"`  // required, unique in the house
	Dates string `koanf:"dates"` // "MM-DD..MM-DD", may cross the new year; default all year
	Hours string `koanf:"hours"` // "sunrise+2h..sunset"; default all day
	Days  string `koanf:"days"`  // "Mon..Fri"; default every day
	// Allow lists what may run: "charge", "discharge", "dry"; default all, [] is nothing. Frost
	// protection is always allowed.
	Allow      *[]string `koanf:"allow"`
	PolicyKeys `koanf:",squash"`
	StoreKeys  `koanf:",squash"`
}

// StoreKeys is what a store asks for, and what a window may ask of every store of its house.
type StoreKeys struct {
	Margin     Difference  `koanf:"margin"`      // house over soil to start charging; 0.5 to 20 K, default 4.5 K
	MarginBand Difference  `koanf:"margin_band"` // charging stops at margin - band; 0.1 to 10 K, default 1.5 K or half the margin
	Gain       Difference  `koanf:"gain"`        // soil over house to start discharging; 0.5 to 20 K, default 3 K
	GainBand   Difference  `koanf:"gain_band"`   // discharging stops at gain - band; 0.1 to 10 K, default 1 K or half the gain
	SoilCap    Temperature `koanf:"soil_cap"`    // roots suffer above; 10 to 45 °C, default 28 °C
	SoilFloor  Temperature `koanf:"soil_floor"`  // roots stop below; -5 to 25 °C, default 7 °C
}

// StoreTable is one body of soil with its pipes and fans.
type StoreTable struct {
	Name      string `koanf:"name"` // required, unique in the house
	StoreKeys `koanf:",squash"`

	MinRun        Duration `koanf:"min_run"`         // shortest run; 0 s to 6 h, default 10 min
	MinRest       Duration `koanf:"min_rest"`        // shortest rest; 0 s to 6 h, default 5 min
	StartsPerHour *float64 `koanf:"starts_per_hour"` // 0 (no limit) to 60, default 4; motors dislike more
	// WaterHoldsFrost holds frost protection too while water stands in the pipes; default false.
	WaterHoldsFrost bool `koanf:"water_holds_frost"`
	// Effectiveness is the exchange assumed until one is learned; 5 to 100 %, default 60 %.
	Effectiveness Share       `koanf:"effectiveness"`
	Pipes         *PipesTable `koanf:"pipes"` // default not stated: lost soil probes are carried on unmoved

	Probe []ProbeTable `koanf:"probe"`
	Fan   []FanTable   `koanf:"fan"` // 1 to 6
}

// PipesTable says how large the store is; count, length, spacing and depth are required once one is
// stated.
type PipesTable struct {
	Count   int64  `koanf:"count"`   // 1 to 500
	Length  Length `koanf:"length"`  // of each; 1 to 200 m
	Spacing Length `koanf:"spacing"` // between centres; 0.1 to 3 m
	Depth   Length `koanf:"depth"`   // of the deepest layer's centre; 0.1 to 4 m

	Diameter Length `koanf:"diameter"` // inside; 3 to 60 cm, default 10 cm
	Wall     string `koanf:"wall"`     // "corrugated" (default) or "smooth"
	// Perforated pipes drain what condenses in them; default true.
	Perforated bool `koanf:"perforated"`
}
