package decide

import (
	"fmt"

	"loambank/config/unit"
)

// Reason is a code with the numbers that were compared. Beside each code stands what Have and
// Need mean; Air and Soil are the temperatures the decision was taken on, where HasAir, HasSoil.
// Learned says that expected heat rests on the store's learned exchange.
// Its sentence is rendered by package sentence.
type Reason struct {
	Code            Code
	HasAir, HasSoil bool
	Air, Soil       unit.Celsius
	Have, Need      float64
	Learned         bool
}

// Code is the closed list of reasons. The zero value is no reason.
type Code uint8

// The reasons, in the order of the rules.
const (
	NoReason Code = iota

	HoldSmoke // smoke was reported and no person has cleared it
	HoldWater // water stands in the pipes

	HandRun    // Have: time left, s; 0 has no end
	HandOff    // Have: time left, s
	HandSwitch // the panel switch is not on automatic

	FrostProtect // Have: crop air, °C; Need: frost limit, °C, or where it stops while running

	FallbackNight  // the duty runs: Have: soil, °C; Need: frost limit + gain, °C, or half while running
	FallbackDay    // off by day
	FallbackMonths // off outside the cold months
	FallbackSoil   // off: Have: soil, °C; Need: frost limit + gain, °C
	FallbackBlind  // off: the soil has not been read for too long either, or never
	FallbackNever  // the stated duty is off
	AirGrace       // air lost, grace time not over: Have: s lost; Need: grace, s

	ActionDue   // Have: run time left, s; Need: index of the action
	ActionTopUp // the same for a burst into the soil

	DischargePays    // Have: worth per hour; Need: cost per hour (money)
	DischargeRatio   // Have: heat per electricity; Need: the least that pays
	DischargeProtect // worth is not asked: Have: crop air, °C; Need: setpoint, °C
	ChargePays       // as DischargePays
	ChargeRatio      // as DischargeRatio
	DryDamp          // Have: humidity; Need: limit (shares)
	MinimumRun       // kept on: Have: run time, s; Need: minimum run, s

	// Rest, and why.
	FrostNoHelp         // Have: soil − air, K; Need: frost gain, K
	SoilLost            // soil unknown for longer than it can be carried
	AirDoubtful         // the air reading is not certain enough to start on
	DischargeNotAllowed // by the window
	AboveSetpoint       // Have: crop air, °C; Need: setpoint, °C
	GainUnmet           // Have: soil − air, K; Need: gain, K
	SoilAtFloor         // Have: coldest root soil, °C; Need: floor, °C
	VentOpen            // the heat would leave by the vent
	HeatNotNeeded       // the heater would not run, so the heat displaces no fuel
	NoUseForHeat        // no heater and no crop
	DischargeNotWorth   // Have: worth per hour; Need: cost per hour (money)
	DischargeLowRatio   // Have: heat per electricity; Need: the least that pays
	ChargeNotAllowed    // by the window
	MarginUnmet         // Have: air − soil, K; Need: margin, K
	AtChargeFloor       // Have: crop air, °C; Need: charge floor, °C
	HeaterOn            // the heater runs now
	HeaterRecent        // Have: s until charging may follow the heater
	SoilAtCap           // Have: hottest soil, °C; Need: cap, °C
	NoWorthYet          // a stored kWh is worth nothing in this month
	ChargeNotWorth      // as DischargeNotWorth
	ChargeLowRatio      // as DischargeLowRatio

	// A wanted start that waits.
	WaitRest    // Have: rest, s; Need: minimum rest, s
	WaitStarts  // Have: s until the next start is allowed
	WaitStagger // Have: s until the next start is allowed
	WaitPower   // Have: W free; Need: W of the fan
	WaitGrant   // the board starts another house first
	WaitFault   // the fan does not start: Have: s until the next try
	codes
)

var codeNames = [codes]string{
	"none",
	"hold-smoke", "hold-water",
	"hand-run", "hand-off", "hand-switch",
	"frost-protect",
	"fallback-night", "fallback-day", "fallback-months", "fallback-soil", "fallback-blind", "fallback-never", "air-grace",
	"action-due", "action-top-up",
	"discharge-pays", "discharge-ratio", "discharge-protect", "charge-pays", "charge-ratio",
	"dry-damp", "minimum-run",
	"frost-no-help", "soil-lost", "air-doubtful",
	"discharge-not-allowed", "above-setpoint", "gain-unmet", "soil-at-floor", "vent-open",
	"heat-not-needed", "no-use-for-heat", "discharge-not-worth", "discharge-low-ratio",
	"charge-not-allowed", "margin-unmet", "at-charge-floor", "heater-on", "heater-recent",
	"soil-at-cap", "no-worth-yet", "charge-not-worth", "charge-low-ratio",
	"wait-rest", "wait-starts", "wait-stagger", "wait-power", "wait-grant", "wait-fault",
}

// Codes is the number of codes: Code(0) to Code(Codes-1).
const Codes = int(codes)

// String returns the code as it stands in metrics, logs and JSON.
func (c Code) String() string {
	if c >= codes {
		return fmt.Sprintf("code(%d)", uint8(c))
	}
	return codeNames[c]
}

// MarshalText writes the code's name.
func (c Code) MarshalText() ([]byte, error) {
	if c >= codes {
		return nil, fmt.Errorf("reason code %d is not in the list", uint8(c))
	}
	return []byte(codeNames[c]), nil
}

// UnmarshalText reads the code's name.
func (c *Code) UnmarshalText(text []byte) error {
	for i, name := range codeNames {
		if name == string(text) {
			*c = Code(i)
			return nil
		}
	}
	return fmt.Errorf("reason code %.30q is not in the list", text)
}
