// Package board finds what the computer in the hoop house offers: its 1-Wire and I²C buses and its
// GPIO lines, by name.
//
// A GPIO line is asked of the kernel's character device, never of sysfs: it gets its level before
// its direction, so that no relay clicks, and no second program can take it. Not here: what hangs
// on a bus or a line.
//
// Always: one call at a time is made on a bus, and comes back within a second; an I²C chip can be
// kept for several calls that belong together, while the bus serves other chips. After a fault bus
// and line are opened afresh by the next call, so what was unplugged may be plugged back.
package board
