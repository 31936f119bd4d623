// Package physics holds the formulas of nature that the controller, the planner and the
// simulation share, one file per topic, each with its source, equation and range.
//
// Moist air and the heat of an air stream are here. Probes, houses, stores and decisions are not.
//
// It is pure and allocates nothing. It always holds that arguments outside a formula's range are
// brought to its nearest end, and that heat into the soil is positive. Humidity ratios are kg of
// water per kg of dry air, relative humidities shares from 0 to 1, pressures Pa.
package physics
