package size

import (
	"fmt"
	"math"

	"loambank/config"
	"loambank/controller/physics"
)

// Duct is how the air of a design goes through its pipes.
type Duct struct {
	FlowM3s           float64
	AirChangesPerHour float64 // of the house, while the fan runs
	SpeedMs           float64 // in the pipes
	LossPa            float64 // of pipes and manifolds
	PowerW            float64 // electric
	NTU               float64 // of the pipes against soil some hours into a run
}

// What is assumed of fans and pipes; METHODS.md says what each weighs.
const (
	fanEfficiency = 0.35 // impeller, drive and motor of small duct fans: common practice, no source
	// freeM3sW is what a circulating fan moves against nothing: 15 cfm/W, the middle of
	// greenhouse-S064.
	freeM3sW = 15 * 0.0004719474
	// manifoldHeads are lost in header, bends and joints beside a pipe's own ends: common practice, no
	// source.
	manifoldHeads = 1.0
	// soilKmW is the soil's resistance around a metre of pipe some hours into a run, K m/W: a line
	// source in damp loam of 1.2 W/(m K), 4 h, as in line_and_cylinder.
	soilKmW = 0.2
)

// usualFan is a mixed-flow duct fan: pressure, Pa, at shares of its free flow. Common practice, no
// source.
var usualFan = [...]struct{ share, pressurePa float64 }{{0, 300}, {0.5, 250}, {0.8, 140}, {1, 0}}

// blow returns what a usual fan, chosen for the flow, does with the pipes of a house. The error wraps
// physics.ErrNeverCrosses where no usual fan pushes so much air through them.
func blow(h *config.House, p config.Pipes, flowM3s float64) (Duct, error) {
	if p.Count < 1 || !(flowM3s > 0) {
		return Duct{}, fmt.Errorf("%d pipes and %g m³/s of air; both must be over 0", p.Count, flowM3s)
	}
	pressurePa := h.House.Decide.PressurePa
	air := physics.Air{C: houseAir, W: physics.HumidityRatio(houseAir, 0.7, pressurePa)}
	pipe := p.Air()
	pipe.LossHeads = physics.LossFlushEntry + physics.LossExit + manifoldHeads
	lossPa := func(flowM3s float64) float64 {
		return pipe.PressureLossPa(flowM3s/float64(p.Count), air, pressurePa)
	}
	curve, err := fanFor(flowM3s, lossPa(flowM3s))
	if err != nil {
		return Duct{}, err
	}
	at, err := curve.Operate(lossPa)
	if err != nil {
		return Duct{}, err
	}
	each := at.FlowM3s / float64(p.Count)
	return Duct{
		FlowM3s: at.FlowM3s, AirChangesPerHour: at.FlowM3s * 3600 / airM3(h),
		SpeedMs: pipe.VelocityMs(each), LossPa: lossPa(at.FlowM3s),
		PowerW: max(physics.FanPowerW(at.FlowM3s, lossPa(at.FlowM3s), fanEfficiency), at.FlowM3s/freeM3sW),
		NTU:    pipe.NTU(each, air, pressurePa, soilKmW),
	}, nil
}

// fanFor is the usual fan so large that it gives the flow against that loss, with at least half of its
// free flow: with less it is noisy, and stalls.
func fanFor(flowM3s, lossPa float64) (physics.FanCurve, error) {
	if most := usualFan[1].pressurePa; lossPa > most {
		return physics.FanCurve{}, fmt.Errorf("%w: the pipes take %.0f Pa and usual fans work against %.0f at most; more or wider pipes side by side would be right",
			physics.ErrNeverCrosses, lossPa, most)
	}
	free := flowM3s
	for i := 2; i < len(usualFan); i++ {
		a, b := usualFan[i-1], usualFan[i]
		if lossPa <= a.pressurePa && lossPa >= b.pressurePa {
			free = flowM3s / (a.share + (b.share-a.share)*(a.pressurePa-lossPa)/(a.pressurePa-b.pressurePa))
		}
	}
	points := make([]physics.FanPoint, 0, len(usualFan))
	for _, p := range usualFan {
		points = append(points, physics.FanPoint{FlowM3s: p.share * free, PressurePa: p.pressurePa})
	}
	return physics.NewFanCurve(points)
}

// Noise is what the air's speed in the pipes lets one hear at their mouths. Common practice, no
// source.
func (d Duct) Noise() string {
	switch {
	case d.SpeedMs <= 4:
		return "quiet"
	case d.SpeedMs <= 7:
		return "heard"
	}
	return "loud"
}

// Pipes and spacings that are tried.
var (
	diametersM = [...]float64{0.10, 0.15, 0.20}
	spacingsM  = [...]float64{0.4, 0.6, 0.9}
)

const (
	leastNTU  = 0.5 // 39 % of what the air could give is given; with less most of the fan's work is lost
	mostPipes = 500 // as in the settings
)

// lay returns the pipes that carry the flow at the least yearly cost for the heat exchanged, to build
// and to blow for runH hours a year, among those that fit under the house, exchange enough and can be
// blown; kWhPrice is that of electricity. The error wraps physics.ErrNeverCrosses where none can.
func lay(h *config.House, c config.Costs, depthM, flowM3s, runH, kWhPrice float64) (config.Pipes, Duct, error) {
	var best config.Pipes
	var duct Duct
	least := math.Inf(1)
	for _, p := range layouts(h, depthM) {
		for p.Count = mostUnder(h, p); p.Count > 0; p.Count-- {
			d, err := blow(h, p, flowM3s)
			if err != nil || d.NTU < leastNTU {
				break // with fewer pipes it is worse
			}
			yearly := storeCost(&Design{Pipes: p, Duct: d}, h, c)*recoveryFactor(c.Rate, c.Years) + d.PowerW/1000*runH*kWhPrice
			if yearly /= 1 - math.Exp(-d.NTU); yearly < least {
				best, duct, least = p, d, yearly
			}
		}
	}
	if best.Count == 0 {
		return best, duct, fmt.Errorf("%w: no pipes of 10 to 20 cm that find room under this house carry %.2f m³/s and still exchange its heat; fewer air changes would be right",
			physics.ErrNeverCrosses, flowM3s)
	}
	return best, duct, nil
}

// layouts are the pipes that are tried, without their count: across the house, along half of it, and
// along all of it.
func layouts(h *config.House, depthM float64) (all []config.Pipes) {
	for _, diameterM := range diametersM {
		for _, spacingM := range spacingsM {
			if spacingM < usualSpacedD*diameterM || depthM < usualSpacedD*diameterM {
				continue
			}
			for _, lengthM := range [...]float64{h.WidthM, h.LengthM / 2, h.LengthM} {
				all = append(all, config.Pipes{LengthM: lengthM, SpacingM: spacingM, DepthM: depthM, DiameterM: diameterM})
			}
		}
	}
	return all
}

// mostUnder is how many of such pipes find room under a house.
func mostUnder(h *config.House, p config.Pipes) int {
	return min(mostPipes, int(h.LengthM*h.WidthM/(p.SpacingM*p.LengthM)))
}
