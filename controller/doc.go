// Package controller runs a farm: every house in a goroutine of its own reads its probes, asks
// the decision core and drives its fans, and publishes what it saw as an immutable snapshot.
//
// Deciding is not in here (house, decide), nor is the account (ledger) or its exposition (export).
// Always: a slow or dead device costs its reading, never a tick, never another house; when Run
// returns, every fan that obeys is off.
package controller
