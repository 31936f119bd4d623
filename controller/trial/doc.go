// Package trial lets a house of the settings live through a year of weather: the simulated house and
// its soil under the very same judge and decide that run the board, or under a simpler rule, or
// never running at all.
//
// Weather comes laid out in steps, so nothing here opens a file or reads a clock. What the settings
// do not say of house and soil is stated in assume.go. One Plant belongs to one goroutine.
package trial
