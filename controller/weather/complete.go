package weather

import (
	"fmt"
	"math"

	"loambank/controller/physics"
)

// How many missing hours in a row are filled from the values beside them. The air of half a night
// is still a guess worth making, sunshine beyond a cloud's passage is not: common practice, no
// source.
const (
	longestGap         = 6
	longestSunshineGap = 3
)

const (
	needed   = DryBulb | Humidity | Global
	sunshine = Global | Direct | Diffuse
)

// fieldNames are what faults call the fields, in their order.
var fieldNames = [fields]string{
	"dry bulb", "dew point", "humidity", "pressure", "global radiation", "direct radiation",
	"diffuse radiation", "wind", "infrared from the sky", "sky cover",
}

// complete works out what follows from other values, fills short gaps, and refuses long ones where
// a value is needed.
func (y *Year) complete() error {
	for i := range y.Rows {
		r := &y.Rows[i]
		if !r.Have.Has(Humidity) && r.Have.Has(DryBulb|DewPoint) {
			r.Humidity = min(1, physics.SatPressureWaterPa(r.DewPoint)/physics.SatPressureWaterPa(r.DryBulb))
			r.Have |= Humidity
		}
		if !r.Have.Has(Global) && r.Have.Has(Direct|Diffuse) {
			r.GlobalWm2 = r.DiffuseWm2 + r.DirectWm2*y.meanSine(i)
			r.Have |= Global
		}
	}
	for i := range fields {
		if err := y.fill(Field(1)<<i, &y.filled[i]); err != nil {
			return err
		}
	}
	y.closeRadiation()
	return nil
}

// fill fills the gaps of one field.
func (y *Year) fill(f Field, count *int) error {
	longest := longestGap
	if f&sunshine != 0 {
		longest = longestSunshineGap
	}
	for i := 0; i < len(y.Rows); i++ {
		if y.Rows[i].Have.Has(f) {
			continue
		}
		end := i
		for end < len(y.Rows) && !y.Rows[end].Have.Has(f) {
			end++
		}
		switch {
		case end-i <= longest:
			y.bridge(f, i, end)
			*count += end - i
		case f&needed != 0:
			return y.gap(f, i, end)
		}
		i = end
	}
	return nil
}

func (y *Year) gap(f Field, from, to int) error {
	name := fieldNames[int(math.Round(math.Log2(float64(f))))]
	if to-from == len(y.Rows) {
		return &Fault{
			File: y.Name, What: "the file has no value of " + name,
			Remedy: "dry bulb, humidity or dew point, and global or direct with diffuse radiation are wanted",
		}
	}
	return &Fault{
		File: y.Name, Line: y.Rows[from].Line,
		What:   fmt.Sprintf("%s is missing for %d hours from here", name, to-from),
		Remedy: fmt.Sprintf("at most %d hours of radiation or %d of else are filled in; choose another file or fill the gap", longestSunshineGap, longestGap),
	}
}

// bridge draws a straight line from the row before from to the row at to; at an end of the year
// the one neighbour's value stands. The sun does not shine by night, though.
func (y *Year) bridge(f Field, from, to int) {
	before, after := from-1, to
	if before < 0 {
		before = after
	}
	if after >= len(y.Rows) {
		after = before
	}
	a, b := *y.Rows[before].value(f), *y.Rows[after].value(f)
	for i := from; i < to; i++ {
		r := &y.Rows[i]
		share := float64(i-from+1) / float64(to-from+1)
		v := a + (b-a)*share
		if f&sunshine != 0 && y.meanSine(i) == 0 {
			v = 0
		}
		*r.value(f) = v
		r.Have |= f
		r.Filled |= f
	}
}

// closeRadiation finds the one of direct and diffuse that is missing: global = diffuse + direct ×
// sine of the sun's elevation (Wilcox and Marion 2008, NREL/TP-581-43156).
func (y *Year) closeRadiation() {
	const low = 0.03 // sine; under it the division says nothing
	for i := range y.Rows {
		r := &y.Rows[i]
		if r.Have.Has(Direct) == r.Have.Has(Diffuse) {
			continue
		}
		sine := y.meanSine(i)
		if r.Have.Has(Direct) {
			r.DiffuseWm2 = max(0, r.GlobalWm2-r.DirectWm2*sine)
		} else if sine > low {
			r.DirectWm2 = max(0, r.GlobalWm2-r.DiffuseWm2) / sine
		}
		r.Have |= Direct | Diffuse
	}
}

// meanSine is the mean of the sine of the sun's elevation, 0 while it is down, over the hour of row
// i's radiation.
func (y *Year) meanSine(i int) float64 {
	start := y.Start()
	var sum float64
	for j := range cellsPerHour {
		elevation, _ := y.sun(start, y.radiationS(i)+cellS*(float64(j)+0.5)-1800)
		sum += max(0, math.Sin(elevation*degree))
	}
	return sum / cellsPerHour
}
