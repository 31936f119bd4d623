package physics

import "math"

// Glazing is a clear sheet, or several behind each other: what of the sun's light comes through.
// The zero value is an open hole.
type Glazing struct {
	Sheets int
	// Index is the sheets' index of refraction: 1.50 polyethylene, 1.526 glass, 1.60 polycarbonate
	// (Duffie and Beckman 2013, table 5.1.1 and handbooks); under 1 it counts as 1.
	Index float64
	// Kept is the share that one sheet keeps of a ray straight through it, by absorbing it or by
	// throwing it back, besides what its two faces mirror; 0 to 1.
	Kept float64
	// Shaded is the share of the light that frame, dirt and drops keep, at any angle; 0 to 1.
	Shaded float64
}

// ClearFilm returns sheets of new, clean polyethylene film without frame: 0.87 of straight light
// through one and 0.76 through two (extension glazing tables, from memory).
func ClearFilm(sheets int) Glazing { return Glazing{Sheets: sheets, Index: 1.5, Kept: 0.057} }

// Direct returns the share of the sun's rays that comes through at the given cosine of their angle
// of incidence: 0 where it is 0 or less. Fresnel's and Bouguer's laws and the sums over all
// mirrorings as in Duffie and Beckman 2013, eq. 5.1.1 to 5.1.5 and 5.2.2, with τ = τ_α τ_r
// (eq. 5.3.1).
func (g Glazing) Direct(cosine float64) float64 {
	if !(cosine > 0) {
		return 0
	}
	open := 1 - min(max(g.Shaded, 0), 1)
	if g.Sheets <= 0 {
		return open
	}
	cos1 := min(cosine, 1)
	index := max(g.Index, 1)
	sin2 := math.Sqrt(1-cos1*cos1) / index
	cos2 := math.Sqrt(1 - sin2*sin2)
	across := (cos1 - index*cos2) / (cos1 + index*cos2)
	along := (index*cos1 - cos2) / (index*cos1 + cos2)
	n := float64(g.Sheets)
	through := func(mirrored float64) float64 {
		return (1 - mirrored) / (1 + (2*n-1)*mirrored)
	}
	pass := 1 - min(max(g.Kept, 0), 1)
	kept := math.Pow(pass, n/cos2)
	return open * kept * (through(across*across) + through(along*along)) / 2
}

// Diffuse returns the share of light from all of a half sky, equally bright, that comes through:
// Direct over the hemisphere, by Simpson's rule. About Direct at 60° (Duffie and Beckman 2013,
// sec. 5.4).
func (g Glazing) Diffuse() float64 {
	// With u = sin² of the angle every u carries the same light.
	const steps = 64
	sum := 0.0
	for i := range steps + 1 {
		weight := 2.0
		switch {
		case i == 0 || i == steps:
			weight = 1
		case i%2 == 1:
			weight = 4
		}
		sum += weight * g.Direct(math.Sqrt(1-float64(i)/steps))
	}
	return sum / (3 * steps)
}
