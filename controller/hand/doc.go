// Package hand carries a person's orders and rounds to the running daemon, over a unix
// socket in the state directory: who may write to the socket may give orders, and the kernel says
// who it was.
//
// Whether an order is obeyed is decided elsewhere: a hold wins over it. Nothing here is reachable
// over a network.
package hand
