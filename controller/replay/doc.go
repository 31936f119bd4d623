// Package replay runs recorded readings through the very tick that a board runs, and adds up what
// the fans would have done.
//
// A recording does not feel the fans: the air in it is what it was without them, and the heat in
// the account is what the assumed exchange would have moved. Both are estimates and said to be.
package replay
