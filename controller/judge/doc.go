// Package judge says how far each reading may be relied on: good, doubtful or bad, and why.
//
// Probe judges one probe from what it said and what it said before; Vote, Lowest and Highest
// settle several probes of one place; CarrySoil goes on from the last good soil temperature when
// all its probes are lost. Reading devices, units and what a bad reading means for the fans are
// not here.
//
// The package is pure: state goes in and comes out, time is the seconds since the last call. It
// always holds that no reading, however absurd, makes it panic, that the value of a verdict is
// finite, and that a verdict is Good exactly when its cause is Fine.
package judge
