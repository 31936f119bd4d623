// Package device holds the little that every driver family and its callers share: the stage of a
// fan, what chips measure, the faults a caller branches on, a wait, and how a line or bus is let go.
//
// It is a leaf: the families below package drivers import it, package drivers shows its words to
// everyone else. No device is read or switched here.
package device

import "errors"

// Stage is the speed a fan is told to run at: 0, the zero value, is off, n runs at the n-th of
// its levels.
type Stage uint8

// Faults a caller branches on. A driver wraps them with the name of the device and what was
// expected of it.
var (
	// ErrAbsent means the device is not there. It may come back.
	ErrAbsent = errors.New("the device is not there")
	// ErrCRC means that what was read was damaged on its way. Reading again may help.
	ErrCRC = errors.New("the checksum does not match")
	// ErrFormat means that something answered, but not in the form that was configured.
	ErrFormat = errors.New("not in the expected form")
	// ErrPowerOn means a thermometer answered with the value it holds before its first
	// measurement, 85.000 °C.
	ErrPowerOn = errors.New("power-on value, nothing was measured")
	// ErrBusy means an earlier call to the same device has not come back yet.
	ErrBusy = errors.New("an earlier call has not come back")
)
