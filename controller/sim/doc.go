// Package sim is a simulated hoop house with its stores: simple and honest. One node of air with
// what lies in it, one node of soil a store, a film that lets sun in and heat out, a heater, fans.
//
// It is pure: no clock, no randomness but what its weather is given. Always: the heat that leaves
// the air by the fans is the heat that enters the soil, to rounding. Not in here: layers of soil,
// pipes along their length, real weather files.
package sim
