package physics

import "math"

// Power is x to a fixed exponent by table, for simulations that ask millions of times. Make one with
// NewPower; the zero value is 0 everywhere.
type Power struct {
	octave [powerOctaves]float64  // of 2^(lowest octave + i)
	cubic  [powerCells][4]float64 // of 1 to 2, over the share of a cell: the constant first
}

const (
	powerOctaves = 64
	powerLowest  = -40 // 2^−40 is 1e-12
	cellBits     = 5
	powerCells   = 1 << cellBits
)

// NewPower returns the table for an exponent between 0 and 1.
func NewPower(exponent float64) *Power {
	p := &Power{}
	for i := range p.octave {
		p.octave[i] = math.Pow(2, exponent*float64(i+powerLowest))
	}
	const step = 1.0 / powerCells
	for i := range p.cubic {
		a, b := 1+float64(i)*step, 1+float64(i+1)*step
		from, to := math.Pow(a, exponent), math.Pow(b, exponent)
		p.cubic[i] = hermite(from, to, exponent*from/a*step, exponent*to/b*step)
	}
	return p
}

// At returns x to the exponent, within 1e-8 of it from 1e-12 to 16 million; 0 under that and a
// constant over it.
func (p *Power) At(x float64) float64 {
	const bits, exponentBias = 52, 1023
	if !(x >= 1.0/(1<<-powerLowest)) {
		return 0
	}
	if x >= 1<<(powerOctaves+powerLowest) {
		x = 1<<(powerOctaves+powerLowest) - 1
	}
	// The number's own bits are its octave, its cell in that, and the share of the cell.
	raw := math.Float64bits(x)
	octave := raw>>bits - (exponentBias + powerLowest)
	c := &p.cubic[raw>>(bits-cellBits)%powerCells]
	share := math.Float64frombits(raw<<cellBits&(1<<bits-1)|exponentBias<<bits) - 1
	return p.octave[octave%powerOctaves] * (c[0] + share*(c[1]+share*(c[2]+share*c[3])))
}

// hermite is the cubic over 0 to 1 that has these values and slopes at its ends, the constant first.
func hermite(from, to, slopeFrom, slopeTo float64) [4]float64 {
	rise := to - from
	return [4]float64{from, slopeFrom, 3*rise - 2*slopeFrom - slopeTo, slopeFrom + slopeTo - 2*rise}
}
