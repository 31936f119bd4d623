package physics

import "math"

// Surface is a plane that light falls on. The zero value lies level.
type Surface struct {
	TiltDeg    float64 // from level, 0 to 180; 90 is a wall
	AzimuthDeg float64 // that it faces, from north through east; of no matter when level
}

// SkyLight is the light that reaches the ground at some time, and the sun's place then.
type SkyLight struct {
	ElevationDeg, AzimuthDeg float64 // of the sun
	DirectWm2                float64 // from the sun, on a surface that faces it
	DiffuseWm2               float64 // from the sky, on a level surface
	ExtraterrestrialWm2      float64 // above the air, on a surface that faces the sun
}

// GlobalWm2 returns what falls on a level surface: direct and diffuse light together.
func (l SkyLight) GlobalWm2() float64 {
	return l.DiffuseWm2 + l.DirectWm2*max(0, math.Sin(l.ElevationDeg*degree))
}

// DirectFromGlobal returns the direct light of which a level surface gets globalWm2 together with
// diffuseWm2: 0 under a sun lower than 2°, where a small fault in either would be a large one in it.
func DirectFromGlobal(globalWm2, diffuseWm2, elevationDeg float64) float64 {
	const lowest = 2
	if elevationDeg < lowest {
		return 0
	}
	return max(0, globalWm2-diffuseWm2) / math.Sin(elevationDeg*degree)
}

// OnSurface is the light on a plane by where it comes from, W/m².
type OnSurface struct {
	SunWm2    float64 // from the sun and the bright sky around it, at Cosine
	SkyWm2    float64 // from the rest of the sky
	GroundWm2 float64
	Cosine    float64 // of the sun's angle of incidence, 0 to 1; 0 where the sun is behind
}

// TotalWm2 returns all light on the plane.
func (o OnSurface) TotalWm2() float64 { return o.SunWm2 + o.SkyWm2 + o.GroundWm2 }

// CosIncidence returns the cosine of the angle between the plane's normal and the sun, −1 to 1.
// Duffie and Beckman 2013, eq. 1.6.3.
func (s Surface) CosIncidence(elevationDeg, azimuthDeg float64) float64 {
	sinUp, cosUp := math.Sincos(elevationDeg * degree)
	sinTilt, cosTilt := math.Sincos(s.TiltDeg * degree)
	cos := sinUp*cosTilt + cosUp*sinTilt*math.Cos((azimuthDeg-s.AzimuthDeg)*degree)
	return min(max(cos, -1), 1)
}

// Isotropic returns the light on the plane under a sky that is equally bright everywhere, with
// ground that throws back a share albedo. Liu and Jordan 1963, in Duffie and Beckman 2013,
// eq. 2.15.1. Low for a plane that faces the sun.
func (s Surface) Isotropic(l SkyLight, albedo float64) OnSurface {
	cosTilt := math.Cos(s.TiltDeg * degree)
	o := OnSurface{
		SkyWm2:    l.DiffuseWm2 * (1 + cosTilt) / 2,
		GroundWm2: albedo * l.GlobalWm2() * (1 - cosTilt) / 2,
	}
	if l.ElevationDeg > 0 {
		o.Cosine = max(0, s.CosIncidence(l.ElevationDeg, l.AzimuthDeg))
		o.SunWm2 = l.DirectWm2 * o.Cosine
	}
	return o
}

// HayDavies returns the light on the plane under a sky that is brighter around the sun, the more so
// the clearer the air. Hay and Davies 1980, in Duffie and Beckman 2013, sec. 2.16 (eq. 2.16.2 and
// 2.16.4). The sun counts as no lower than 5° there, so that dawn stays finite.
func (s Surface) HayDavies(l SkyLight, albedo float64) OnSurface {
	o := s.Isotropic(l, albedo)
	if !(l.ElevationDeg > 0 && l.ExtraterrestrialWm2 > 0) {
		return o
	}
	const lowest = 5
	clear := min(max(l.DirectWm2/l.ExtraterrestrialWm2, 0), 1)
	around := clear * l.DiffuseWm2 * o.Cosine / math.Sin(max(l.ElevationDeg, lowest)*degree)
	o.SunWm2 += around
	o.SkyWm2 *= 1 - clear
	return o
}
