// Package greenhouse is a hoop house under real weather: its air, the films over it, crop, soil
// surface, leaks, vents and heater, above beds of soil with pipes.
//
// Each step is implicit and stable at any length up to LongestStepS: with the soil's surface and the
// pipes' walls as the last step left them, one solution gives all temperatures, and what pipes then do
// otherwise goes to the air. Always: the heat that entered less the heat that left is what air and crop
// hold more, and so for water, to rounding; what leaves the air downwards is what the beds took.
//
// One temperature stands for all air of the house, one for all leaves, one for each film. Not in
// here: the soil itself (package ground, behind Soil), weather files, decisions, what fans draw.
// It is pure.
package greenhouse
