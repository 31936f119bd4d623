package weather

import (
	"fmt"
	"math"
	"time"

	"loambank/config/unit"
	"loambank/controller/physics"
)

// Sample is the weather of one short step, its means.
type Sample struct {
	// Have holds Wind, Sky, Cloud, Pressure, and Direct with Diffuse where the file has them. What it
	// does not hold is zero, the pressure that of the standard atmosphere at the station.
	Have       Field
	Day        float64 // days after Start, in the middle of the step
	Outside    unit.Celsius
	Vapour     float64 // humidity ratio, kg/kg dry air
	PressurePa float64
	GlobalWm2  float64 // on the horizontal
	DirectWm2  float64 // on a plane that faces the sun
	DiffuseWm2 float64 // on the horizontal
	WindMS     float64
	SkyWm2     float64 // thermal radiation from the sky on the horizontal
	Cloud      float64 // share of the sky, 0 to 1

	SunElevationDeg float64 // in the middle of the step, negative under the horizon
	SunAzimuthDeg   float64 // from north through east, 0 to 360
}

// Resample lays the year out in steps, the first beginning at Start; step divides an hour and is a
// second or more. The air runs straight from one hour's label to the next; before the first label
// it stands. Radiation follows the sun within its hour and keeps each hour's sum, and with it the
// year's.
func (y *Year) Resample(step time.Duration) ([]Sample, error) {
	if step < time.Second || step > time.Hour || time.Hour%step != 0 {
		return nil, fmt.Errorf("a step of %s does not divide an hour; 5m0s does", step)
	}
	stepS := step.Seconds()
	cells := y.spread()
	all := make([]Sample, len(y.Rows)*int(time.Hour/step))
	standardPa := physics.PressureAtAltitude(y.ElevationM)
	start := y.Start()
	for k := range all {
		s := &all[k]
		fromS := float64(k) * stepS
		y.air(s, fromS+stepS/2, standardPa)
		s.Day = (fromS + stepS/2) / 86400
		s.SunElevationDeg, s.SunAzimuthDeg = y.sun(start, fromS+stepS/2)
		light := cells.mean(fromS, fromS+stepS)
		s.GlobalWm2, s.DirectWm2, s.DiffuseWm2 = light[0], light[1], light[2]
	}
	return all, nil
}

// air fills in what runs straight from label to label.
func (y *Year) air(s *Sample, atS, standardPa float64) {
	at := max(0, atS/3600-1)
	i := int(at)
	share := at - float64(i)
	a, b := &y.Rows[i], &y.Rows[min(i+1, len(y.Rows)-1)]
	s.Have = a.Have & b.Have
	between := func(f Field, p, q float64) float64 {
		if !s.Have.Has(f) {
			return 0
		}
		return p + (q-p)*share
	}
	s.Outside = unit.Celsius(between(DryBulb, float64(a.DryBulb), float64(b.DryBulb)))
	if s.PressurePa = between(Pressure, a.PressurePa, b.PressurePa); !s.Have.Has(Pressure) {
		s.PressurePa = standardPa
	}
	// Vapour, not relative humidity over water, moves evenly while the air warms.
	s.Vapour = between(Humidity,
		a.vapour(s.PressurePa), b.vapour(s.PressurePa))
	s.WindMS = between(Wind, a.WindMS, b.WindMS)
	s.SkyWm2 = between(Sky, a.SkyWm2, b.SkyWm2)
	s.Cloud = between(Cloud, a.Cloud, b.Cloud)
}

// vapour is the humidity ratio.
func (r *Row) vapour(pressurePa float64) float64 {
	return physics.RatioAtVapour(r.Humidity*physics.SatPressureWaterPa(r.DryBulb), pressurePa)
}

// Radiation is spread over cells of five minutes.
const (
	cellsPerHour = 12
	cellS        = 3600.0 / cellsPerHour
)

// light is global, direct and diffuse radiation, W/m².
type light [3]float64

// cells is the year's radiation; the first cell begins fromS after Start. The last may end after
// the year, in the night, and counts at its beginning.
type cells struct {
	fromS float64
	cell  []light
}

// spread follows the sun within each hour: global and diffuse light with the sine of its elevation
// and a little twilight, direct light evenly while the sun is up.
func (y *Year) spread() cells {
	const (
		twilight = 0.05   // the light of the sky ends with the sun 2.9° under the horizon
		refract  = -0.833 // ° of the centre at sunrise, as in season
	)
	start := y.Start()
	c := cells{fromS: y.radiationS(0) - 1800, cell: make([]light, len(y.Rows)*cellsPerHour)}
	for i := range y.Rows {
		r := &y.Rows[i]
		if r.GlobalWm2 == 0 && r.DirectWm2 == 0 && r.DiffuseWm2 == 0 {
			continue
		}
		var sky, disc [cellsPerHour]float64
		for j := range sky {
			elevation, _ := y.sun(start, c.fromS+float64(i*cellsPerHour+j)*cellS+cellS/2)
			sky[j] = max(0, math.Sin(elevation*degree)+twilight)
			if elevation > refract {
				disc[j] = 1
			}
		}
		hour := c.cell[i*cellsPerHour:][:cellsPerHour]
		share(hour, 0, r.GlobalWm2, &sky)
		share(hour, 1, r.DirectWm2, &disc)
		share(hour, 2, r.DiffuseWm2, &sky)
	}
	return c
}

// share spreads an hour's mean over its cells by weight, evenly if none has any.
func share(hour []light, kind int, meanWm2 float64, weight *[cellsPerHour]float64) {
	var sum float64
	for _, w := range weight {
		sum += w
	}
	for j := range hour {
		hour[j][kind] = meanWm2
		if sum > 0 {
			hour[j][kind] = meanWm2 * weight[j] / sum * cellsPerHour
		}
	}
}

// mean is the radiation from fromS to toS after Start.
func (c *cells) mean(fromS, toS float64) (m light) {
	n := len(c.cell)
	for at := fromS; at < toS; {
		i := int(math.Floor((at-c.fromS)/cellS + 1e-9))
		end := min(toS, c.fromS+float64(i+1)*cellS)
		cell := &c.cell[((i%n)+n)%n]
		for k := range m {
			m[k] += cell[k] * (end - at) / (toS - fromS)
		}
		at = end
	}
	return m
}
