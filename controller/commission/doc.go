// Package commission is the round that a person makes through a house before its fans are trusted,
// and again at each new season: each fan alone, with direction, airflow, power and temperatures of the
// ducts; each interlock tripped; each probe pulled. What comes of it is a Baseline, against which a
// Watch later holds what the fans draw and move.
//
// Session asks and is told; who talks to the person and to the daemon, keeps baselines and counts
// elapsed time is elsewhere.
//
// It always holds that a step is passed only where the house was seen doing what it should, that what
// was skipped is kept as skipped, that every order a session gives ends by itself within a minute and
// a half, and that a crop at its frost limit ends the session.
package commission
