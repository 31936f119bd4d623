// Package weather reads typical or measured years from EPW and TMY3 files, plain or gzip, and
// lays them out in the short steps of a simulation.
//
// A Year is what its file says: local standard time, no daylight saving, each month from a source
// year of its own. It is whole: every hour from 1 January to 31 December once, or there is an
// error that names file, line, fault and remedy. What a file leaves out is absent from Row.Have,
// never NaN; short gaps are filled and counted, long ones are errors where a value is needed.
// The end of December is another year than the beginning of January, and the two are not joined.
//
// Not in here: opening files, the sun on tilted surfaces, the sky's temperature. The package is
// pure; it reads from the io.Reader it is given.
package weather
