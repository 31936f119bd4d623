package ground

import (
	"math"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// films is the coefficient between a pipe's wall and the air in it, W/(m² K), without reckoning it
// anew for every flow and temperature: straight between the corners of a cell, whose flows are 1.6 %
// and temperatures 2 K apart at most. That is within 5e-4 of the formula in laminar and in turbulent
// flow, and within 2 % where the one turns into the other. A cell is the same whenever it is reckoned.
type films struct {
	pipe physics.Pipe
	kept [64]filmCell
}

// filmCell is the coefficient at the corners: less and more flow, each colder and warmer. The zero
// value is none.
type filmCell struct {
	row    uint64 // of flow: the leading bits of its number
	column int64  // of temperature, cellK each
	wm2K   [2][2]float64
}

const (
	rowShift = 52 - 6
	cellK    = 2.0
)

// at returns the coefficient for a flow of moist air, over 0, at a temperature.
func (f *films) at(moistKgS float64, t unit.Celsius) float64 {
	row, column := math.Float64bits(moistKgS)>>rowShift, int64(math.Floor(float64(t)/cellK))
	c := &f.kept[row&7<<3|uint64(column&7)]
	low, high := math.Float64frombits(row<<rowShift), math.Float64frombits((row+1)<<rowShift)
	if c.row != row || c.column != column {
		*c = filmCell{row: row, column: column}
		for i, kgS := range [2]float64{low, high} {
			for j := range c.wm2K[i] {
				c.wm2K[i][j] = filmWm2K(&f.pipe, kgS, unit.Celsius(float64(column+int64(j))*cellK))
			}
		}
	}
	x, y := (moistKgS-low)/(high-low), float64(t)/cellK-float64(column)
	less := c.wm2K[0][0] + y*(c.wm2K[0][1]-c.wm2K[0][0])
	more := c.wm2K[1][0] + y*(c.wm2K[1][1]-c.wm2K[1][0])
	return less + x*(more-less)
}

// filmWm2K is the formula's. Pressure and humidity act through the flow's mass alone.
func filmWm2K(pipe *physics.Pipe, moistKgS float64, t unit.Celsius) float64 {
	const anyPa = 1e5
	air := physics.Air{C: t}
	return pipe.FilmWm2K(moistKgS*physics.SpecificVolume(t, 0, anyPa), air, anyPa)
}
