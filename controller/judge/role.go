package judge

// Role is what a probe stands for. The zero value is no role, written as the empty text.
type Role uint8

// The closed list of roles.
const (
	NoRole Role = iota
	Air
	Humidity
	Soil
	DuctIn
	DuctOut
	Outside
	FanPower
	AirflowProof
	PipeWater
	Smoke
	VentOpen
	HeaterOn
	HandSwitch
	OnGenerator
	Radon
	CO2
	Light
)

var roleWords = []string{
	NoRole: "", Air: "air", Humidity: "humidity", Soil: "soil", DuctIn: "duct-in",
	DuctOut: "duct-out", Outside: "outside", FanPower: "fan-power",
	AirflowProof: "airflow-proof", PipeWater: "pipe-water", Smoke: "smoke",
	VentOpen: "vent-open", HeaterOn: "heater-on", HandSwitch: "hand-switch",
	OnGenerator: "on-generator", Radon: "radon", CO2: "co2", Light: "light",
}

// ParseRole returns the role of a word such as "duct-in". An unknown word's error lists them all.
func ParseRole(text string) (Role, error) {
	v, err := parseWord("role", roleWords, text)
	return Role(v), err
}

// String returns the role's word.
func (r Role) String() string { return word("role", roleWords, uint8(r)) }

// MarshalText returns the role's word; a role outside the list is an error.
func (r Role) MarshalText() ([]byte, error) { return marshalWord("role", roleWords, uint8(r)) }

// UnmarshalText is ParseRole; on an error the role stays as it was.
func (r *Role) UnmarshalText(text []byte) error {
	v, err := ParseRole(string(text))
	if err == nil {
		*r = v
	}
	return err
}

// Temperature reports whether probes of this role read °C.
func (r Role) Temperature() bool {
	switch r {
	case Air, Soil, DuctIn, DuctOut, Outside:
		return true
	}
	return false
}

// Contact reports whether probes of this role read 0 or 1 and nothing between.
func (r Role) Contact() bool {
	switch r {
	case AirflowProof, PipeWater, Smoke, VentOpen, HeaterOn, HandSwitch, OnGenerator:
		return true
	}
	return false
}
