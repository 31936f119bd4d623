// Package mqtt reads probes and drives fans by way of an MQTT broker, version 5 of the protocol.
//
// A probe keeps the last value that its topic told, and gives it for as long as that is fresh. What
// a broker kept from before is of unknown age and never counts. A fan's order is published with
// quality of service 1 and kept by the broker; where the fan tells its stage on a topic of its own,
// an order counts as obeyed only once that was told. Not here: scaling, judging and repeated orders.
//
// Always: probes of one broker share one connection. A fan has a connection of its own, since a
// connection has one last will: when it breaks, the broker itself puts the fan off. On each new
// connection the stage is published again that the last order which was obeyed asked for; after an
// order that was not obeyed that is off. A fan is off after NewFan and after Close, as far as the
// broker acknowledges.
//
// Source: MQTT Version 5.0, OASIS Standard, 2019.
package mqtt
