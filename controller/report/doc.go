// Package report adds up what history and ledger keep: what the fans of a house did in a period,
// what that cost and moved, how cold it got, what failed and who took the fans. It also writes
// history as a recording that a replay reads.
//
// It reads and changes nothing; what is printed, and how, is the commands' and the page's.
package report
