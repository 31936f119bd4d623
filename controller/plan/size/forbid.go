package size

import (
	"fmt"
	"math"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/physics"
)

// Obstacle is why a design cannot be, or should not.
type Obstacle struct {
	What string
	// Nearest is the nearest pipes that are possible; Count 0 where there are none.
	Nearest config.Pipes
	// Forbids is false for what must be looked into first.
	Forbids bool
}

const (
	dryUnderM    = 0.30 // of soil that must stay dry under pipes: common practice, no source
	leastDepthM  = 0.25 // under a spade's depth
	mostHollow   = 0.15 // of the soil that pipes may take the place of
	clayNearM    = 1.0  // ground water so near under pipes in clay stands in them after rain
	usualSpacedD = 2.0  // diameters between axes
)

// Obstacles returns what stands against pipes under a house on that ground, from what forbids them
// to what must be looked into, or nothing.
func Obstacles(s *config.Settings, h *config.House, p config.Pipes, ground physics.GroundWave) []Obstacle {
	var all []Obstacle
	if p.Count < 1 {
		return nil
	}
	add := func(what string, nearest config.Pipes, forbids bool) {
		all = append(all, Obstacle{what, nearest, forbids})
	}
	if warmest(ground, p.DepthM) <= 0 {
		add(fmt.Sprintf("the ground is frozen all year: it has %s in the mean of the year and never thaws where the pipes would lie", s.Display.Temperature(ground.Mean)),
			config.Pipes{}, true)
	}
	floorM2 := h.LengthM * h.WidthM
	if under := float64(p.Count) * p.LengthM * p.SpacingM; under > floorM2*(1+1e-6) {
		fewer := p
		fewer.Count = mostUnder(h, p)
		add(fmt.Sprintf("the pipes lie under %.0f m² and the house has %.0f m²", under, floorM2), fewer, true)
	}
	if p.SpacingM < usualSpacedD*p.DiameterM {
		wider := p
		wider.SpacingM = usualSpacedD * p.DiameterM
		wider.Count = min(p.Count, mostUnder(h, wider))
		add("the pipes lie nearer than two of their diameters", wider, true)
	}
	hollow := float64(p.Count) * p.LengthM * math.Pi / 4 * p.DiameterM * p.DiameterM
	if soilM3 := float64(p.Count) * p.LengthM * p.SpacingM * 2 * p.DepthM; hollow > mostHollow*soilM3*(1+1e-9) {
		thinner := p
		thinner.DiameterM = math.Sqrt(mostHollow * p.SpacingM * 2 * p.DepthM * 4 / math.Pi)
		add(fmt.Sprintf("the pipes' hollow, %.0f m³, leaves too little of the %.0f m³ of soil to store heat in", hollow, soilM3), thinner, true)
	}
	all = append(all, wet(s, h, p)...)
	if s.Radon {
		add("the region is known for radon: pipes in the soil can draw it into the house; test the air with the fans running, before and after the first winter", config.Pipes{}, false)
	}
	return all
}

// wet is what ground water and clay have against pipes.
func wet(s *config.Settings, h *config.House, p config.Pipes) (all []Obstacle) {
	clay := h.Soil.Texture == physics.Clay
	bottomM := p.DepthM + p.DiameterM/2
	switch {
	case s.WaterTableIs && bottomM+dryUnderM > s.WaterTableM:
		o := Obstacle{Forbids: true, What: fmt.Sprintf("ground water rises to %s: pipes %s deep would stand in it, and it carries the heat away",
			s.Display.Length(s.WaterTableM), s.Display.Length(p.DepthM))}
		if depthM := s.WaterTableM - dryUnderM - p.DiameterM/2; depthM >= leastDepthM {
			o.Nearest = p
			o.Nearest.DepthM = depthM
		}
		return append(all, o)
	case clay && s.WaterTableIs && bottomM+clayNearM > s.WaterTableM:
		return append(all, Obstacle{Forbids: true, What: fmt.Sprintf("heavy clay with ground water at %s: what condenses and what rains in cannot drain, and water stands in the pipes",
			s.Display.Length(s.WaterTableM))})
	case clay:
		all = append(all, Obstacle{What: "heavy clay drains slowly: lay the pipes with a fall of 1 in 100 to a sump or to daylight, and dig a hole first to see whether water stands in it after rain"})
	}
	if !s.WaterTableIs {
		all = append(all, Obstacle{What: "how high ground water rises is not stated (site.water_table): dig a hole to half a metre under the pipes in the wettest month"})
	}
	return all
}

// warmest is the highest temperature of the year at a depth.
func warmest(g physics.GroundWave, depthM float64) unit.Celsius {
	highest := g.At(depthM, 0)
	for day := 1.0; day < 365; day++ {
		highest = max(highest, g.At(depthM, day))
	}
	return highest
}
