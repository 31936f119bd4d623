package physics

import (
	"math"
	"testing"

	"loambank/config/unit"
)

func BenchmarkPsychrometrics(b *testing.B) {
	for _, c := range []struct {
		name string
		f    func(i int) float64
	}{
		{"SatPressurePa", func(i int) float64 { return SatPressurePa(unit.Celsius(i%40 - 10)) }},
		{"TabledSatPressurePa", func(i int) float64 { return TabledSatPressurePa(unit.Celsius(i%40 - 10)) }},
		{"SatHumidityRatio", func(i int) float64 { return SatHumidityRatio(unit.Celsius(i%40-10), 95e3) }},
		{"TabledSatHumidityRatio", func(i int) float64 { return TabledSatHumidityRatio(unit.Celsius(i%40-10), 95e3) }},
		{"SatPressureWaterPa in frost", func(i int) float64 { return SatPressureWaterPa(unit.Celsius(-1 - i%30)) }},
		{"HumidityRatio", func(i int) float64 { return HumidityRatio(unit.Celsius(i%40-10), 0.7, 95e3) }},
		{"DewPoint", func(i int) float64 { return float64(DewPoint(300 + float64(i%3000))) }},
		{"DewPointWater in frost", func(i int) float64 { return float64(DewPointWater(100 + float64(i%400))) }},
		{"WetBulb", func(i int) float64 { return float64(WetBulb(unit.Celsius(10+i%25), 0.006, 95e3)) }},
		{"WetBulb in frost", func(i int) float64 { return float64(WetBulb(unit.Celsius(-1-i%25), 0.0002, 95e3)) }},
		{"Enthalpy", func(i int) float64 { return Enthalpy(unit.Celsius(i%40), 0.008) }},
		{"SpecificVolume", func(i int) float64 { return SpecificVolume(unit.Celsius(i%40), 0.008, 95e3) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			var sum float64
			for i := range b.N {
				sum += c.f(i)
			}
			if math.IsNaN(sum) {
				b.Fatal("not a number")
			}
		})
	}
}

func BenchmarkSunPosition(b *testing.B) {
	b.ReportAllocs()
	for i := range b.N {
		SunPosition(1.8e9+3600*float64(i), 43, -75)
	}
}

func BenchmarkPipe(b *testing.B) {
	pipe := Pipe{DiameterM: 0.1, LengthM: 15, ManningN: ManningDrainTubing, LossHeads: 1.5}
	b.ReportAllocs()
	for i := range b.N {
		pipe.NTU(0.02+1e-5*float64(i%1000), Air{20, 0.008}, 95e3, 0.2)
	}
}

func BenchmarkCylinderSource(b *testing.B) {
	b.ReportAllocs()
	for i := range b.N {
		CylinderSource(float64(1 + i%1000))
	}
}
