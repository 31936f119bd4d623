package weather

import (
	"math"
	"time"

	"loambank/controller/physics"
)

const degree = math.Pi / 180

// sun returns where the sun stands afterS seconds after Start.
func (y *Year) sun(start time.Time, afterS float64) (elevationDeg, azimuthDeg float64) {
	return physics.SunPosition(float64(start.Unix())+afterS, y.LatitudeDeg, y.LongitudeDeg)
}

// SunLateH is by how many hours the year's radiation comes later than the sun, on days of more
// than 3 kWh/m²; ok is false if there are none. Cloudy afternoons may be worth −0.2 h; beyond
// 0.4 h either way the file's hours are probably not what Base says.
func (y *Year) SunLateH() (lateH float64, ok bool) {
	noonH := 12 + y.ZoneH - y.LongitudeDeg/15
	var sum float64
	days := 0
	for first := 0; first+24 <= len(y.Rows); first += 24 {
		var whole, moment float64
		for i := first; i < first+24; i++ {
			w := y.Rows[i].GlobalWm2
			whole += w
			moment += w * (y.radiationS(i)/3600 - float64(first))
		}
		if whole > 3000 {
			sum += moment/whole - noonH
			days++
		}
	}
	if days == 0 {
		return 0, false
	}
	return sum / float64(days), true
}
