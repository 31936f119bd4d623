// Package decide is the pure decision core: it says, tick by tick, what the fans of one house do
// and why. Daemon, replay, simulation, tuner and tests call its one function, Step.
//
// Not in here: reading probes (drivers), trusting them (judge), sentences for people (sentence),
// the calendar (season) and prices (tariff), which Step asks. Step reads no clock, does no I/O,
// keeps no memory but the State it is given, and cannot fail: a missing reading is an input.
package decide
