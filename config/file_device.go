package config

// DeviceKeys say which device stands behind a probe or fan. What a kind needs stands in
// devices.go.
type DeviceKeys struct {
	Driver string `koanf:"driver"` // the kind, "file", "ds18b20", "relay", …; required
	Path   string `koanf:"path"`
	Format string `koanf:"format"` // of a file; default found out from path and content
	ID     string `koanf:"id"`
	Bus    string `koanf:"bus"`
	// Address is that of an I²C chip, 0x08 to 0x77; default the one that its kind usually has.
	Address int64  `koanf:"address"`
	Pin     string `koanf:"pin"`
	// URL of a modbus bus, "tcp://192.0.2.7:502" or "rtu:///dev/ttyUSB0?speed=9600&parity=none&stop_bits=1"
	// (default 19200, even, 1), or of an MQTT broker, "mqtt://host:1883" or, encrypted, "mqtts://host:8883".
	URL        string `koanf:"url"`
	ModbusKeys `koanf:",squash"`
	MQTTKeys   `koanf:",squash"`
}

// ModbusKeys say where a value stands at a bus.
type ModbusKeys struct {
	Unit int64 `koanf:"unit"` // station, 0 to 255; required of modbus
	// Register is the table, "holding", "input", "coil" or "discrete", and the address as it is sent,
	// from 0: what many manuals call 40101 is "holding 100".
	Register  string `koanf:"register"`
	Type      string `koanf:"type"`       // "uint16" (default), "int16", "uint32", "int32" or "float32"
	WordOrder string `koanf:"word_order"` // of two registers, "high first" (default) or "low first"
}

// MQTTKeys say where something is heard at a broker, and how that is met.
type MQTTKeys struct {
	Topic string `koanf:"topic"` // of a probe's values or a fan's orders, without wildcards; required of mqtt
	// JSON is the path to the number in a probe's payload, or to the stage in what a fan tells on its
	// state, "air.temperature" or "probes.0"; default the whole payload.
	JSON       string `koanf:"json"`
	BrokerKeys `koanf:",squash"`
}

// BrokerKeys say how a broker is met.
type BrokerKeys struct {
	CAFile       string `koanf:"ca_file"`   // who signed the broker's certificate; default whom the machine trusts
	CertFile     string `koanf:"cert_file"` // our own certificate and its key; default none
	KeyFile      string `koanf:"key_file"`
	User         string `koanf:"user"`
	PasswordFile string `koanf:"password_file"` // its first line is the password
}

// PublishTable is the broker that keeps the farm's state: Topic/online "1" or "0", and for each house
// Topic/<house> a JSON text whenever it changes.
type PublishTable struct {
	URL        string `koanf:"url"`   // "mqtt://host:1883" or, encrypted, "mqtts://host:8883"; required
	Topic      string `koanf:"topic"` // under which all stands, without wildcards; required
	BrokerKeys `koanf:",squash"`
}

// SensorKeys say more of some kinds of probes.
type SensorKeys struct {
	// Normally is how a contact is at rest, as it stands beside its terminals: "open" (NO, default) or
	// "closed" (NC), which a cut wire trips too.
	Normally string    `koanf:"normally"`
	Channel  int64     `koanf:"channel"` // input of an ads1115, 0 to 3; required there
	NTC      *NTCTable `koanf:"ntc"`     // thermistor at that input; absent: its voltage, V, is read
	// PulsesPerKWh is what stands on the front of a meter, 0.1 to 1000000; required of a pulse.
	PulsesPerKWh *float64 `koanf:"pulses_per_kwh"`
	// HeaterBurst lets an sht4x of role humidity heat itself dry when it reads 99 % or more, at most
	// once in that time; 10 min to 2 days, default never. It gives no value for two minutes then.
	HeaterBurst Duration `koanf:"heater_burst"`
}

// NTCTable is a thermistor in series with a fixed resistor. Either beta and ohms are written, or
// steinhart.
type NTCTable struct {
	Beta      *float64  `koanf:"beta"`       // B value, K; 1000 to 10000, default 3950
	Ohms      *float64  `koanf:"ohms"`       // at 25 °C; 100 to 1000000, default 10000
	Steinhart []float64 `koanf:"steinhart"`  // A, B and C of Steinhart and Hart, 1/K
	FixedOhms *float64  `koanf:"fixed_ohms"` // of the resistor; 100 to 1000000, default 10000
	Volts     *float64  `koanf:"volts"`      // over both; 1 to 5.5, default 3.3
	Wired     string    `koanf:"wired"`      // other end of the thermistor, "ground" (default) or "supply"
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
	SensorKeys `koanf:",squash"`
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
	// Pins are the relays of a motor of two or three speeds, instead of pin: one for each of the
	// levels, slowest first.
	Pins []string `koanf:"pins"`
	// Values are what is written to a modbus register for off and then for each of the levels;
	// required of a holding register, default 0 and 1 for a coil.
	Values []float64 `koanf:"values"`
	// Payloads are what is published for off and then for each of the levels; default "0", "1", ….
	Payloads []string `koanf:"payloads"`
	// State is the topic on which an mqtt fan tells its stage, as one of the payloads; default none:
	// what the broker acknowledged is believed.
	State  string `koanf:"state"`
	Active string `koanf:"active"`  // level that runs it, "high" (default) or "low"
	Power  Power  `koanf:"power"`   // at full speed; 1 W to 100 kW; required
	Flow   Flow   `koanf:"flow"`    // at full speed; 0.001 to 50 m3/s; required
	FlowIs string `koanf:"flow_is"` // "catalogue" (default: half is believed) or "measured"
	// Levels are the speeds of a staged fan as shares of full flow, rising, the last 100 %.
	Levels []Share `koanf:"levels"`
	// MinLevel is the lowest speed of a variable fan, 10 to 100 %; it then runs in steps of 10 %.
	MinLevel Share `koanf:"min_level"`
	// Proof is the time within which fan-power and airflow-proof probes must agree with what the fan
	// was told; 1 s to 5 min, default 30 s where such a probe watches it: heavy wheels turn up slowly.
	Proof Duration `koanf:"proof"`
	// BackupThermostat is what a frost thermostat of its own, beside the relay, is set to; -15 to 15 °C,
	// default none. A fan that runs unasked in air so cold is then no fan that does not stop.
	BackupThermostat Temperature `koanf:"backup_thermostat"`
}
