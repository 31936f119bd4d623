// Package size turns a site, a house and what things cost into designs of a store, from bare film to
// over-built, and into what each costs, earns and forbids.
//
// A Design becomes a house of the settings, and whoever calls lets that house live through weather
// with controller/trial: what is sized is what would run. Here are the pipes and fan of a flow, the
// reasons that rule a design out with the nearest one that is possible, the money, and solar panels
// against the fans. What is assumed, with its source, stands in METHODS.md beside the package of
// planning. Nothing here opens a file, reads a clock or starts a goroutine; the same inputs give the
// same designs.
package size
