package config

import (
	"loambank/config/unit"
	"loambank/controller/alarm"
)

const defaultTick = "10 s"

// DefaultStateDir is the state directory of settings that name none.
const DefaultStateDir = "/var/lib/loambank"

// defaultScalars are the values of the keys outside arrays that are not written; the environment may
// override some.
func defaultScalars() map[string]any {
	return map[string]any{"units": "si", "tick": defaultTick, "listen": "127.0.0.1:9798", "state_dir": DefaultStateDir}
}

// defaults are the values of keys that are not written. Where no source stands beside one, it is
// common practice among growers and installers, without a published source.
type defaults struct {
	overLimit    unit.Kelvin // frost limit over the crop's limit: leaves under a clear sky are colder than air
	overFrost    unit.Kelvin // setpoint over frost limit
	setpointBand unit.Kelvin
	frostBand    unit.Kelvin
	frostGain    unit.Kelvin

	overHeater    unit.Kelvin // charge floor over what the heater holds
	overDischarge unit.Kelvin // charge floor over the end of discharging
	overSetpoint  unit.Kelvin // dry floor over setpoint

	humidityLimit float64 // over the 85 to 90 % that growers want (safety_and_crops-S033): fans are its last resort
	humidityBand  float64
	dryGain       unit.Kelvin
	dryPerDayS    float64

	margin, marginBand unit.Kelvin
	gain, gainBand     unit.Kelvin
	soilCap            unit.Celsius // under the 30 to 35 °C that roots should not see (safety_and_crops-S032)
	soilFloor          unit.Celsius // under the 10 to 20 °C in which lettuce and spinach grow (safety_and_crops-S030)

	minRunS, minRestS float64
	startsPerHour     float64
	effectiveness     float64
	proofS            float64

	graceS, staggerS float64
	heaterBand       unit.Kelvin
	heaterRestS      float64

	lengthM, widthM float64 // the common house of 30 by 96 ft
	moisture        float64 // water in the soil, of its volume
	diameterM       float64 // of pipes
	ventsOpen       unit.Celsius
	overCharge      unit.Kelvin // vents over charge floor: what lies under it the fans should still store
	ventsPerHour    float64

	fuelEfficiency float64
	worthBand      float64
	minRatio       float64
	runS           float64 // of an action

	alarmDelayS [alarm.Causes]float64
	alarmAckS   float64
}

func standard() defaults {
	return defaults{
		overLimit: 1.5, overFrost: 3, setpointBand: 1, frostBand: 1, frostGain: 1,
		overHeater: 3, overDischarge: 2, overSetpoint: 2,
		humidityLimit: 0.92, humidityBand: 0.04, dryGain: 1, dryPerDayS: 2 * 3600,
		margin: 4.5, marginBand: 1.5, gain: 3, gainBand: 1, soilCap: 28, soilFloor: 7,
		minRunS: 10 * 60, minRestS: 5 * 60, startsPerHour: 4, effectiveness: 0.6, proofS: 30,
		graceS: 10 * 60, staggerS: 10, heaterBand: 1, heaterRestS: 30 * 60,
		lengthM: 29, widthM: 9, moisture: 0.25, diameterM: 0.10,
		ventsOpen: 26, overCharge: 8, ventsPerHour: 30,
		fuelEfficiency: 0.8, worthBand: 1.2, minRatio: 3, runS: 2 * 60,
		alarmDelayS: [alarm.Causes]float64{
			alarm.Frost: 2 * 60, alarm.Smoke: 0, alarm.Air: 5 * 60, alarm.Hand: 5 * 60, alarm.Fan: 60,
		},
		alarmAckS: 3600,
	}
}
