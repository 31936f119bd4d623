// Package foresight finds what fans could have earned in a year by one who knew its weather: the
// yardstick for every policy.
//
// A Model is a house and its stores in few numbers, found from two simulated years of the house
// itself: one in which its fans never ran, one in which they ran whenever heat flowed the right way.
// Worths are what stored heat is worth in it, hour by hour and by how full the stores are, by dynamic
// programming over the whole year at once. A Plan acts on these worths in the full simulation, under
// the limits and least times that bind a board, and Search turns what the Model cannot know until the
// plan as executed earns no more.
//
// What always holds: money that is called a plan's was earned in the full simulation; what the Model
// alone says it could earn is told apart, and is no bound on the simulation, of which the Model is a
// sketch. The plan has no duty but money: it spends nothing on frost protection or on damp air.
//
// Nothing here lives through a year: the caller does, on as many cores as it has, with
// controller/trial. It reads no clock, opens no file and takes no chances: the same years give the
// same plan.
package foresight
