// Package tune searches the settings that suit a house and its climate best, by letting the house
// live through whole years under them.
//
// A Space says which numbers of the settings may be turned and writes a point of it back as settings
// or as text to paste. Minimise walks over a space; a Study holds what every point came to in every
// year, and from it the trade-off and the advice. Years are made from one file by resampling, so that
// settings are not fitted to one winter, and advice is never given without years the search did not
// see.
//
// Worth asks week by week what heat put into the stores spares later, and ToppingUp from when on that
// pays: a year's money hardly moves with that date, so that a search for it would find noise.
//
// Nothing here lives through a year: the caller does, on as many cores as it has, with
// controller/trial. The same seed and the same settings give the same walk, so that an interrupted
// search goes on from the outcomes it wrote down. It reads no clock and opens no file.
package tune
