// Package learn finds out what a house and its stores really are: how well the pipes exchange, how
// much air the fans move, how much heat the soil takes and how fast it loses it, how fast the house
// loses heat; and from that what is left tonight, what running has saved, and what looks wrong.
//
// Update takes one sample after the other, live or from a recording, and is the same for both. What
// it finds is Params: plain data that survives JSON. Reading probes, judging them, prices and
// decisions are not in here.
//
// It always holds that what is not known teaches nothing, that no sample, however absurd, makes a
// value leave its bounds or stop being a number, and that each value carries its standard error.
// Heat into the soil is positive. A number known only together with another says so by its error:
// probes alone tell the ratio of airflow to the soil's heat capacity, and what the settings state of
// either is what parts them.
//
// What remains: in simulated years of six climates heat is told 2 to 7 % high, since one wall stands for
// the whole pipe and the flow is found that much high; water that stands in the pipes and evaporates
// again is not seen; and since nothing measures the air's pressure, heat is wrong by as much as the air is
// thinner or denser than at the stated elevation. Saved heat of a month may be told wrong in one of
// forty, most often in a dull December. Less than a flow halved, a duct probe 2 K off or pipes that lose
// nearly all their heat may go unnamed.
package learn
