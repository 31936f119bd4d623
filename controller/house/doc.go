// Package house is one tick of one house: readings are judged, lost soil is carried on, and the
// decision core is asked. Daemon, replay and simulation all tick a House, so that what is
// replayed is what ran.
//
// It reads no clock and does no I/O: the caller brings readings, elapsed time and wall time.
package house
