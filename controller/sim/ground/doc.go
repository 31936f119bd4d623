// Package ground is a soil store as it truly is, to try controllers on: heat that spreads
// through layers of soil round pipes, air that changes on its way along them, water that
// condenses there and evaporates again.
//
// A cross-section of one pipe's zone is divided into rings round the pipe and rectangles beyond,
// several such sections stand one behind the other along the pipe, and all pipes are alike. Each
// step is implicit and stable at any length. Heat is kept: what went in less what went out is
// what the soil holds more, to rounding, in every step. A Reduced store is the same soil in a few
// numbers, for many years in a short time.
//
// Not in here: houses, fans, weather; freezing soil, moving ground water, pipes on several levels,
// air that leaks through perforations, the thin pipe wall itself (a hundredth of the resistance).
//
// It is pure: plain numbers in and out. Heat into the soil is positive.
package ground
