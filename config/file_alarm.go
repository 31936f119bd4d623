package config

// AlarmTable is the grower's bell.
type AlarmTable struct {
	Output *OutputTable `koanf:"output"` // absent: alarms are shown and logged, no bell rings
	Delay  DelayTable   `koanf:"delay"`
	// Ack is how long an alarm is silent that a person has acknowledged; 1 min to 12 h, default
	// 1 h: a frost night is longer than that.
	Ack Duration `koanf:"ack"`
}

// OutputTable is the device that holds the bell silent: it is energised while all is well, so that
// an alarm, a power cut, a dead board and a cut wire all ring.
type OutputTable struct {
	DeviceKeys `koanf:",squash"`
	Active     string `koanf:"active"` // level that says all is well, "high" (default) or "low"
}

// DelayTable is how long each cause must last before it rings; 0 s to 1 h each.
type DelayTable struct {
	Frost Duration `koanf:"frost"` // no store can help the crop; default 2 min, a door that is opened takes less
	Smoke Duration `koanf:"smoke"` // default 0 s
	Air   Duration `koanf:"air"`   // on top of the grace time without air; default 5 min
	Hand  Duration `koanf:"hand"`  // a person keeps fans off in frost; default 5 min, who switches is there
	Fan   Duration `koanf:"fan"`   // a fan does not start or stop; default 1 min
}
