package controller

// Keys of log attributes, so that a log can be searched by them.
const (
	keyHouse  = "house"
	keyStore  = "store"
	keyFan    = "fan"
	keyProbe  = "probe"
	keyState  = "state"
	keyReason = "reason"
	keyWhy    = "why"
	keyCause  = "cause"
	keyError  = "err"
	keyStack  = "stack"
	keyOrder  = "order"
	keyBy     = "by"
)
