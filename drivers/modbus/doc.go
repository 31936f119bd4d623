// Package modbus reads probes and drives fans at stations that speak Modbus, over TCP or on a
// serial line (RTU).
//
// Here are the busses, each shared by all devices of one URL, and what a register means: its table,
// type and word order. A fan is a coil, or a holding register with a value for each stage; what was
// written is read back. Not here: scaling, judging and repeated tries.
//
// Always: one call at a time is made on a bus; a call comes back by its deadline; a station that
// vanishes gives ErrAbsent and may come back. A fan is off after NewFan and after Close.
//
// Sources: MODBUS Application Protocol Specification V1.1b3; MODBUS over Serial Line V1.02. The
// serial line was not tried on a wire.
package modbus
