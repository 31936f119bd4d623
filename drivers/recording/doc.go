// Package recording reads CSV recordings of a farm: RFC 4180, UTF-8, with or without a byte order
// mark, lines ended by LF or CRLF.
//
// One column is the time, RFC 3339 with its offset, or local time of the zone that the caller
// states. The others are headed <house>/<probe>_<unit> or <house>/<store>/<probe>_<unit>, or
// anything that the caller maps; an empty cell or NaN is a missing value. The rows are in order of
// time. Reader gives one recording row by row, Merged several as if they were one.
//
// Replay reads recordings with it. Probe plays one column by a clock, as if it were measured now.
//
// Always: memory is bounded whatever is read, a value that is given is finite and in the SI unit
// its column names, times rise strictly, and an error names the recording and the line.
package recording
