package physics

import "loambank/config/unit"

// Photovoltaic is a module, or an array of equal ones, by what a watt of its rating gives.
type Photovoltaic struct {
	// NOCT is the cell's temperature in 800 W/m², 20 °C and 1 m/s of wind; 45 to 50 °C usually.
	NOCT unit.Celsius
	// PerK is the share of its power that it gains for each kelvin over 25 °C; about −0.0047 for
	// crystalline cells (Dobos 2014, PVWatts Version 5 Manual, NREL/TP-6A20-62641), −0.0035 for later
	// ones.
	PerK float64
	// Losses are what dirt, wiring, mismatch, ageing and shade take together, 0 to 1; PVWatts 5: 0.14.
	Losses float64
	// Inverter is its efficiency, over 0 to 1; PVWatts 5: 0.96. 1 where direct current is used.
	Inverter float64
}

// UsualPhotovoltaic returns crystalline modules on a rack with an inverter: the defaults of PVWatts 5.
func UsualPhotovoltaic() Photovoltaic {
	return Photovoltaic{NOCT: 47, PerK: -0.0047, Losses: 0.14, Inverter: 0.96}
}

// CellC returns the temperature of the cells under planeWm2 of light on their plane, in proportion to
// NOCT's. Duffie and Beckman 2013, eq. 23.3.3, without the share that leaves as electricity, 3 K at most.
func (p Photovoltaic) CellC(air unit.Celsius, planeWm2 float64) unit.Celsius {
	return air.Add(unit.Kelvin(max(0, planeWm2)/800) * p.NOCT.Sub(20))
}

// Yield returns the power for each watt of rating, 0 or more: PVWatts 5, eq. 8 above 125 W/m², used
// under it too.
func (p Photovoltaic) Yield(air unit.Celsius, planeWm2 float64) float64 {
	warm := 1 + p.PerK*float64(p.CellC(air, planeWm2).Sub(25))
	return max(0, planeWm2) / 1000 * max(0, warm) * (1 - p.Losses) * p.Inverter
}
