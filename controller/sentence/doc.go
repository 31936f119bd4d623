// Package sentence says in a grower's words and units what was decided and why. It is the one
// place where a reason code becomes a sentence; it decides nothing itself.
package sentence
