package config

// CostsTable is what building costs, for sizing; nothing else reads it. Defaults are US dollars, from
// memory, and stand for work by the grower: state your own.
type CostsTable struct {
	Pipe       Price `koanf:"pipe"`       // per length of 10 cm pipe, others by their diameter; default 2.50 $/m
	Trench     Price `koanf:"trench"`     // per volume dug and filled; default 12 $/m3
	Film       Price `koanf:"film"`       // per area of one film; default 1.60 $/m2
	Screen     Price `koanf:"screen"`     // per area of floor; default 14 $/m2
	Insulation Price `koanf:"insulation"` // per area of 5 cm of foam board, others by their thickness; default 14 $/m2
	Stone      Price `koanf:"stone"`      // per volume, delivered; default 45 $/m3
	Fan        Price `koanf:"fan"`        // per electric power; default 0.80 $/W
	Wiring     Price `koanf:"wiring"`     // per store: ducts, manifolds, electrician, box and probes; default 900 $/store
	Solar      Price `koanf:"solar"`      // per rated power, with inverter and rack; default 1.60 $/W
	Battery    Price `koanf:"battery"`    // per kWh; default 350 $/kWh
	// Purse is the most that may be spent, per house; default no limit.
	Purse Price    `koanf:"purse"`
	Rate  Share    `koanf:"rate"`  // of interest, without inflation; 0 to 20 %, default 5 %
	Years *float64 `koanf:"years"` // over which it is reckoned; 1 to 40, default 15
}
