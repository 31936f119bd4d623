// Package chart draws the pictures of page, report and commands as SVG that stands alone: curves over
// time on one or several panels, and lanes of what the fans did.
//
// Curves differ in colour and in dash, so that they can be told apart in print and by the
// colour-blind. Where there is no value the curve breaks. Nothing here fetches anything, and text
// that came from outside is escaped.
package chart
