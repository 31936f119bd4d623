// Package physics holds the formulas of nature that the controller, the planner and the
// simulation share, one file per topic, each with its source, equation and range.
//
// In here: moist air and water, the heat of an air stream, soil and undisturbed ground, the sun
// and light through covers, heat through covers, pipes and fans, and exact solutions of heat
// conduction to try numerical ones on. Probes, houses, stores and decisions are not, nor does
// anything here remember: soil that warms with time is simulated elsewhere.
//
// It is pure, and its functions allocate nothing except where they say so. It always holds that
// arguments outside a formula's range are brought to its nearest end unless the formula says
// otherwise, and that heat into the soil is positive. Humidity ratios are kg of water per kg of dry
// air, relative humidities shares from 0 to 1, pressures Pa, angles of the sky degrees, azimuths
// from north through east.
package physics
