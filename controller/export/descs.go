package export

import "github.com/prometheus/client_golang/prometheus"

func desc(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc("loambank_"+name, help, append([]string{"house"}, labels...), nil)
}

func farmDesc(name, help string) *prometheus.Desc {
	return prometheus.NewDesc("loambank_"+name, help, nil, nil)
}

// Every metric of a house, with what a grower needs to know to read it.
var (
	fanRunSeconds = desc("fan_run_seconds_total",
		"Time the fan ran as told, by what it did then. Counts as of the last checkpoint.", "store", "fan", "state")
	fanStarts = desc("fan_starts_total",
		"Times the fan was started. Counts as of the last checkpoint.", "store", "fan")
	fanEnergy = desc("fan_energy_kwh_total",
		"Electricity of the fan, kWh: measured where its power is, else rated power times run time, by the fan law at lower speeds.", "store", "fan")
	heat = desc("heat_kwh_total",
		"Heat moved into the soil or out of it, kWh: from duct probes where there are some, else estimated from the assumed exchange.", "store", "direction", "kind")
	condensate = desc("condensate_litres_total",
		"Water that condensed in the pipes, litres, estimated.", "store")
	money = desc("money_total",
		"What the fans' electricity cost, and the price of the fuel for the heat they brought up while the heater would have run (of houses with a heater): each gross, so that neither falls.", "currency", "kind")

	airTemperature = desc("air_temperature_celsius",
		"Air temperature in the house. Absent while the probe is bad.", "probe")
	humidity = desc("humidity_ratio",
		"Relative humidity in the house, 0 to 1. Absent while the probe is bad.", "probe")
	soilTemperature = desc("soil_temperature_celsius",
		"Soil temperature. Absent while the probe is bad.", "store", "probe", "depth")

	storeFill = desc("store_fill_ratio",
		"How full the store is, 0 to 1: 0 where it is no more use tonight, 1 at its cap. Absent while its soil is not known.", "store")
	storeAvailable = desc("store_available_kwh",
		"Heat the fans can still bring up at full speed until the soil between the pipes is no more use tonight, kWh; to a quarter or so. Absent while its soil is not known.", "store")
	holdOutside = desc("hold_outside_celsius",
		"Outside temperature down to which all stores and the heater together hold the house's setpoint.", "store")
	hoursLeft = desc("hours_left_seconds",
		"Time until the store is used up at what tonight takes. Absent where tonight asks nothing of it or nothing is known.", "store")
	savedEnergy = desc("saved_energy_kwh",
		"This season so far, from the topping-up date on, against the same house never running its fans, kWh: heat its heater did not have to give (fuel), and minus what the fans drew for it (electricity). Absent without a heater, and while the fans' flow is a catalogue's and not learned yet.", "kind")
	savedSpread = desc("saved_energy_uncertainty_kwh",
		"How far the saved energy may be off, either way, kWh.", "kind")

	effectiveness = desc("store_effectiveness_ratio",
		"How far air goes towards the temperature of the pipes' wall at full flow, 0 to 1, as learned; until then as stated, with a wide error.", "store")
	effectivenessSpread = desc("store_effectiveness_uncertainty_ratio",
		"Standard error of the effectiveness, 0 to 1.", "store")
	airflow = desc("store_airflow_cubic_metres_per_second",
		"Air that all fans of the store together move at full speed, as learned; until then as stated, with a wide error.", "store")
	airflowSpread = desc("store_airflow_uncertainty_cubic_metres_per_second",
		"Standard error of the airflow.", "store")
	balance = desc("store_heat_balance_ratio",
		"Heat as the soil tells it over heat as the air tells it, of the last ten days or so: 1 where they agree, 0 to 1 where the soil tells of less. Absent until both tell of a day.", "store")
	balanceSpread = desc("store_heat_balance_uncertainty_ratio",
		"Standard error of the heat balance; 0 to 1 and more.", "store")
	houseLoss = desc("house_loss_watts_per_kelvin",
		"Heat the house loses for each kelvin over outside, as learned; until then as stated, with a wide error.")
	houseLossSpread = desc("house_loss_uncertainty_watts_per_kelvin",
		"Standard error of the house's loss.")
	notice = desc("notice",
		"1 while this looks wrong by what was learned, 0 while it does not. Without a store it is of the house.", "store", "notice")
	offBaseline = desc("fan_off_baseline",
		"1 while the fan has run for an hour with its power, or its store's learned airflow, a fifth or more off what it was when commissioned, 0 while it has not. Absent before the house is commissioned.", "store", "fan")
	commissionDue = desc("commission_due",
		"1 while the topping-up date has come since the house was commissioned, 0 until then. Absent before it is commissioned.")

	state = desc("state",
		"1 for what the store does now, 0 for everything else it could do.", "store", "state")
	reasonInfo = desc("reason_info",
		"Why the store does what it does: always 1.", "store", "reason")

	tickAge = desc("tick_age_seconds",
		"Time since the house last ticked. All else that is shown of the house is as old, its counters as of the last checkpoint.")
	probeUp = desc("probe_up",
		"1 while the probe's reading is good or doubtful, 0 while it is bad.", "store", "probe")
	probeAge = desc("probe_age_seconds",
		"Time since the probe's last accepted reading.", "store", "probe")
	probeErrors = desc("probe_errors_total",
		"Readings the probe did not give. Counts as of the last checkpoint.", "store", "probe")
	fanFault = desc("fan_fault",
		"1 while something is wrong with the fan: it takes no orders, does not start, does not stop or moves too little.", "store", "fan")
)

// Every metric of the farm.
var (
	tickDuration = farmDesc("tick_duration_seconds",
		"How long the last tick took, of the house that took longest.")
	reloaded = farmDesc("config_last_reload_successful",
		"1 while the settings file that was last read is in force, 0 while it has faults and older settings are.")
	clockBelieved = farmDesc("clock_believed",
		"1 while the clock may be used as a calendar. While 0, every window is open and prices are the base ones.")
	checkpoint = farmDesc("ledger_checkpoint_timestamp_seconds",
		"When the counters were last safely on disk, as the clock showed it. Absent where they never were.")
	historyOK = farmDesc("history_ok",
		"1 while samples and journal are written, 0 while they cannot be. Absent where none are kept.")
	historyDropped = farmDesc("history_dropped_ticks",
		"Ticks since the program began that are in no sample and no journal.")
	historyDamaged = farmDesc("history_damaged_files",
		"History files since the program began that were damaged and moved aside.")
	alarmed = farmDesc("alarm",
		"1 while the bell sounds: an alarm is due that nobody has acknowledged.")
)

var all = []*prometheus.Desc{
	fanRunSeconds, fanStarts, fanEnergy, heat, condensate, money,
	airTemperature, humidity, soilTemperature, state, reasonInfo, probeUp, probeAge, probeErrors, fanFault, tickAge,
	effectiveness, effectivenessSpread, airflow, airflowSpread, balance, balanceSpread, houseLoss, houseLossSpread, notice, offBaseline, commissionDue,
	storeFill, storeAvailable, holdOutside, hoursLeft, savedEnergy, savedSpread,
	tickDuration, reloaded, clockBelieved, checkpoint, alarmed,
	historyOK, historyDropped, historyDamaged,
}
