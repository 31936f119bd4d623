// Package page serves the status page: what a grower wants to know of each house at five in the
// morning, on a phone, from the board itself. First the sentence, then the readings that matter,
// what is wrong and what to do, the account, a drawing of the store, and pictures of a day, a week,
// the season and a year with the same as a table. The same stands as JSON at /api/v1/farm.
//
// What is decided, counted and kept is not here: it is read from a controller.View and a
// history.Reader. Sentences come from package sentence, pictures over time from package chart.
//
// It always holds that nothing served here changes anything; that every byte a browser loads comes
// from this host; that the page says all it has to say without JavaScript, which only keeps it
// live; and that text from outside is escaped.
package page
