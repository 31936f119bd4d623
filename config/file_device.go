package config

// DeviceKeys say which device stands behind a probe or fan. What a kind needs stands in
// devices.go.
type DeviceKeys struct {
	Driver string `koanf:"driver"` // the kind, "file", "ds18b20", "relay", …; required
	Path   string `koanf:"path"`
	Format string `koanf:"format"` // of a file; default found out from path and content
	ID     string `koanf:"id"`
	Bus    string `koanf:"bus"`
	Pin    string `koanf:"pin"`
}

// ProbeTable is one probe.
type ProbeTable struct {
	// Name is unique in the house; default role, place and depth: "soil-between-18in".
	Name  string `koanf:"name"`
	Role  string `koanf:"role"`  // what it stands for, "air", "soil", "humidity", …; required
	Place string `koanf:"place"` // air: "crop" or "intake"; soil: "between", "root" or "undisturbed"
	Depth Length `koanf:"depth"` // of a soil probe, required; 1 cm to 6 m
	// Fan names the fan of the store that a fan-power or airflow-proof probe watches; default all.
	Fan string `koanf:"fan"`
	// Column is the header that stands for this probe in a recording, also in the one that a probe of
	// driver "recording" plays; default the probe's own name, as in "lower/beds/deep_degC".
	Column     string `koanf:"column"`
	DeviceKeys `koanf:",squash"`
	Scale      *float64 `koanf:"scale"`  // the raw value is multiplied by it; not 0, default 1
	Offset     Amount   `koanf:"offset"` // and this is added; default none
	Stale      Duration `koanf:"stale"`  // silence after which it is lost; 1 s to 2 days, default by role
	Min        Amount   `koanf:"min"`    // what it can honestly say; default by role
	Max        Amount   `koanf:"max"`
	Error      Amount   `koanf:"error"` // its own error; default by role
	Agree      Amount   `koanf:"agree"` // how far probes of one place may differ; default by role
}

// FanTable is one air mover of a store.
type FanTable struct {
	Name       string `koanf:"name"` // required, unique in the store
	DeviceKeys `koanf:",squash"`
	Active     string `koanf:"active"`  // level that runs it, "high" (default) or "low"
	Power      Power  `koanf:"power"`   // at full speed; 1 W to 100 kW; required
	Flow       Flow   `koanf:"flow"`    // at full speed; 0.001 to 50 m3/s; required
	FlowIs     string `koanf:"flow_is"` // "catalogue" (default: half is believed) or "measured"
	// Levels are the speeds of a staged fan as shares of full flow, rising, the last 100 %.
	Levels []Share `koanf:"levels"`
	// MinLevel is the lowest speed of a variable fan, 10 to 100 %; it then runs in steps of 10 %.
	MinLevel Share `koanf:"min_level"`
	// Proof is the time within which fan-power and airflow-proof probes must agree with what the fan
	// was told; 1 s to 5 min, default 30 s where such a probe watches it: heavy wheels turn up slowly.
	Proof Duration `koanf:"proof"`
}
