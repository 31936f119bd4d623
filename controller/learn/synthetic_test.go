package learn_test

import (
	"math"
	"math/rand/v2"

	"loambank/config/unit"
	"loambank/controller/learn"
)

// truth is a small house and store, every figure of which is known: air, a lump of soil, and soil
// next to the pipes in two exponentials.
type truth struct {
	flowM3s, ntu, quickKW, slowKW float64 // really, at full speed; K/W of real heat
	capacityJK, loss, over        float64 // of the soil; 1/s, and K over what lies above it
	houseWK, floorWK, airJK       float64
	heaterW                       float64
	setpoint                      unit.Celsius // of the heater
	noiseK                        float64
	meanC, swingK                 float64 // outside
	sunW                          float64 // at noon of the brightest days
	never                         bool    // fans stay off
	ductOffK, airSunK, leak       float64
	wetBring                      float64 // share of the fall of temperature that is left in wet pipes
	touchK                        float64 // how far the between probe follows the pipe, 0 to 1
	openWK                        float64 // a side is open
	speed                         float64 // of the worn fan, share; 0: 1
	meter                         bool
	charge, bring                 func(air, soil float64) bool
}

// rig is the plant in motion.
type rig struct {
	truth
	r                                        *rand.Rand
	timeS, air, soil, root, quick, slow, lag float64
	base                                     float64
	bias                                     float64 // of the day's sky, K
	level, heatW, outC                       float64
	heaterJ                                  float64
}

const stepS = 300

// usual is the truth that the tests begin from. The stated figures of stated2 differ from it.
func usual() truth {
	return truth{
		flowM3s: 1, ntu: 1.1, quickKW: 4e-4, slowKW: 9e-4, capacityJK: 8e7, loss: 0.1 / 86400, over: 2,
		houseWK: 1500, floorWK: 900, airJK: 4e6, noiseK: 0.1, meanC: 3, swingK: 7, sunW: 40e3, speed: 1,
		wetBring: 1,
		charge:   func(air, soil float64) bool { return air > soil+5 },
		bring:    func(air, soil float64) bool { return air < 7 && soil > air+3 },
	}
}

// settings are what somebody stated of the usual truth, wrongly.
func settings() *learn.Settings {
	return &learn.Settings{
		FloorM2: 200, HouseLossWK: 1800, HouseCapacityJK: 5e6,
		Stores: []learn.Store{{FlowM3s: 1.05, PowerW: 500, Effectiveness: 0.55, CapacityJK: 9e7, PipeM: 150, LagS: 40e3}},
	}
}

func newRig(t truth, seed uint64) *rig {
	return &rig{truth: t, r: rand.New(rand.NewPCG(seed, 7)), air: 8, soil: 14, root: 13, base: 13}
}

func (g *rig) noisy(c float64) learn.Temp {
	return learn.Temp{C: unit.Celsius(math.Round((c+g.noiseK*g.r.NormFloat64())*16) / 16), Known: true}
}

// weather is outside air and sun, the same for each seed and time.
func (g *rig) weather() (outC, sunW float64, dark bool) {
	day := math.Floor(g.timeS / 86400)
	hour := math.Mod(g.timeS, 86400) / 3600
	front := 4*math.Sin(day/2.3) + 3*math.Sin(day/5.1+1)
	sun := math.Sin((hour - 7) / 10 * math.Pi)
	dark = hour < 7 || hour > 17
	if dark {
		sun = 0
	}
	bright := 0.6 + 0.4*math.Sin(1.9*day+0.4)
	return g.meanC + front - g.swingK*math.Cos((hour-3)/12*math.Pi), sun * bright * g.sunW, dark
}

// step lives for stepS seconds and returns what probes then show.
func (g *rig) step() learn.Sample {
	outC, sunW, dark := g.weather()
	return g.under(outC, sunW, dark)
}

func (g *rig) under(outC, sunW float64, dark bool) learn.Sample {
	g.outC = outC
	if math.Mod(g.timeS, 86400) < stepS {
		g.bias = 0.4 * g.r.NormFloat64()
	}
	g.level = 0
	if !g.never && (g.charge(g.air, g.soil) || g.bring(g.air, g.soil)) {
		g.level = 1
	}
	airIn := g.air
	eff := 1 - math.Exp(-g.ntu)
	wall := g.soil + g.quickKW*g.quick + g.slowKW*g.slow
	out, fall := airIn, eff*(airIn-wall)
	heatW, feltW := 0.0, 0.0 // out of the air, and what of it a thermometer feels
	if g.level > 0 {
		felt := fall
		if fall < 0 {
			felt *= g.wetBring
		}
		out = airIn - felt
		// Dry air of 1006 J/(kg K) at sea level, 1.293 kg/m³ at 0 °C (moist air at the intake).
		kgS := g.flowM3s * g.speed * 1.293 * 273.15 / (273.15 + airIn)
		heatW, feltW = kgS*1006*fall, kgS*1006*felt
	}
	g.heatW = heatW
	g.quick += (heatW - g.quick) * (1 - math.Exp(-stepS/1800.0))
	g.slow += (heatW - g.slow) * (1 - math.Exp(-stepS/43200.0))
	g.lag += (heatW*(1-g.leak) - g.lag) * (1 - math.Exp(-stepS/40e3))
	fanW := 500 * g.level * g.speed * g.speed * g.speed
	heaterW := g.heater(outC, fanW-feltW)
	g.heaterJ += heaterW * stepS
	// What moves the air, solved within the step.
	wk := g.houseWK + g.openWK
	a := g.airJK/stepS + wk + g.floorWK
	g.air = (g.airJK/stepS*g.air + wk*(outC+g.bias) + g.floorWK*g.root + sunW*0.35 + fanW - feltW + heaterW) / a
	g.base += (g.root - g.base) * (1 - math.Exp(-stepS/40e3))
	g.soil += stepS * (g.lag/g.capacityJK - g.loss*(g.soil-g.base-g.over))
	g.root += stepS * (g.floorWK*(g.air-g.root) + 0.3*sunW + 0.8*g.loss*g.capacityJK*(g.soil-g.root)) / 6e7
	g.timeS += stepS
	return g.sample(airIn, out, fanW, heaterW > 0, dark, sunW)
}

// heater holds the setpoint exactly while it can.
func (g *rig) heater(outC, bringW float64) float64 {
	if g.heaterW == 0 {
		return 0
	}
	need := g.airJK/stepS*(float64(g.setpoint)-g.air) + g.houseWK*(float64(g.setpoint)-outC-g.bias) +
		g.floorWK*(float64(g.setpoint)-g.root) - bringW
	return min(max(need, 0), g.heaterW)
}

func (g *rig) sample(in, out, fanW float64, heating, dark bool, sunW float64) learn.Sample {
	s := learn.Sample{StepS: stepS, Air: g.noisy(g.air), Outside: g.noisy(g.outC), Dark: dark, Heater: learn.Off, Vent: learn.Off}
	if heating {
		s.Heater = learn.On
	}
	if sunW > 0 {
		s.Air.C += unitC(g.airSunK)
	}
	soil := g.soil
	if g.touchK > 0 {
		soil += g.touchK * (g.quickKW*g.quick + g.slowKW*g.slow)
	}
	s.Stores[0] = learn.StoreSample{
		Level: g.level, Between: g.noisy(soil), Root: g.noisy(g.root), DuctIn: g.noisy(in), DuctOut: g.noisy(out + g.ductOffK),
	}
	if g.meter {
		s.Stores[0].FanW = learn.Number{V: fanW, Known: true}
	}
	return s
}

// learnFor lets the rig live and learns from it.
func (g *rig) learnFor(s *learn.Settings, p learn.Params, days float64, change func(*learn.Sample)) learn.Params {
	for range int(days * 86400 / stepS) {
		sample := g.step()
		if change != nil {
			change(&sample)
		}
		p = learn.Update(s, p, sample)
	}
	return p
}
