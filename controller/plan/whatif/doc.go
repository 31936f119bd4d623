// Package whatif compares two settings of a farm on a recording of its own winter.
//
// A recording does not feel other fans: replayed as it is, it tells what each settings would decide,
// not how the house would have answered. So what was learned of the house from the recording carries
// the difference: the readings are corrected by it before the other settings see them. Where too
// little was learned, only the replays are told, and why.
//
// What a house is like is in package learn, how recordings are replayed in package replay. No file is
// opened here. Settings that do what was done differ by exactly nothing, and every difference that
// rests on what was learned has its ±.
package whatif
