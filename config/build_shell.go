package config

import (
	"fmt"
	"slices"

	"loambank/controller/physics"
)

// covers are the covers by the words of the file, the usual one first.
var covers = [...]struct {
	word string
	is   physics.Covering
}{
	{"double film", physics.DoubleFilm},
	{"single film", physics.SingleFilm},
	{"twin wall", physics.TwinWall},
	{"glass", physics.SingleGlass},
}

// textures are those of the file, the usual one first.
var textures = [...]physics.Texture{physics.Loam, physics.Sand, physics.SandyLoam, physics.SiltLoam, physics.Clay}

// buildShell reads what stands over the floor, and with it the heat the house loses.
func (b *builder) buildShell(h *House, table string, t HouseTable) {
	d := b.defaults
	h.LengthM = set(b, "length", b.length(table, "length", t.Length, 3, 300), d.lengthM, b.display.Length)
	h.WidthM = set(b, "width", b.length(table, "width", t.Width, 2, 60), d.widthM, b.display.Length)
	var words []string
	for _, c := range covers {
		words = append(words, c.word)
	}
	word := b.choice(table, "cover", t.Cover, words...)
	b.line("cover", word, t.Cover == "")
	for _, c := range covers {
		if c.word == word {
			h.Cover = c.is
		}
	}
	h.Screen = t.Screen
	b.line("screen", fmt.Sprint(t.Screen), !b.written(table, "screen"))
	calm, _ := h.Cover.AirChanges(false)
	h.AirChanges = set(b, "air_changes", b.number(table, "air_changes", t.AirChanges, 0.05, 10), calm, plainNumber)
	h.House.Decide.HouseLossWK = set(b, "heat_loss", b.conductance(table, "heat_loss", t.HeatLoss, 10, 1e5), h.LossWK(), b.display.Conductance)
}

// LossWK is the heat that the house loses for each kelvin over outside by what is stated of it, by
// night, W/K; where heat_loss is stated, Decide.HouseLossWK is that.
func (h *House) LossWK() float64 {
	// A night's wind lies between calm and the one that doubles the air changes.
	const windy = 1.5
	return houseLoss(h.LengthM, h.WidthM, screened(h.Cover, h.Screen), windy*h.AirChanges)
}

// screened is the heat transmittance of a cover by night, W/(m² K). A screen adds the resistance by
// which it betters a double film in the published tables.
func screened(c physics.Covering, screen bool) float64 {
	if !screen {
		return c.UWm2K()
	}
	screenM2KW := 1/physics.DoubleFilmCurt.UWm2K() - 1/physics.DoubleFilm.UWm2K()
	return 1 / (1/c.UWm2K() + screenM2KW)
}

// houseLoss is the heat a half-cylinder house with both ends loses for each kelvin over outside,
// W/K, through its cover and with the air that changes: greenhouse-S023 to S037.
func houseLoss(lengthM, widthM, lossWM2K, changesPerHour float64) float64 {
	coverM2, airM3 := physics.HalfCylinder(widthM, lengthM)
	return coverM2*lossWM2K + 0.33*changesPerHour*airM3
}

// buildVents reads the vents of a house whose policies are known.
func (b *builder) buildVents(h *House, table string, t VentsTable) {
	d := b.defaults
	at := d.ventsOpen
	for _, policy := range h.House.Decide.Policies {
		at = max(at, policy.ChargeFloor.Add(d.overCharge))
	}
	h.Vents = Vents{
		OpensAt: set(b, "vents.opens", b.celsius(table, "opens", t.Opens, 5, 45), at, b.display.Setting),
		PerH:    set(b, "vents.per_hour", b.number(table, "per_hour", t.PerHour, 0, 200), d.ventsPerHour, plainNumber),
	}
}

// buildGround reads what lies under the floor.
func (b *builder) buildGround(h *House, table string, t HouseTable) {
	d := b.defaults
	at := join(table, "soil")
	var words []string
	for _, texture := range textures {
		words = append(words, texture.String())
	}
	word := b.choice(at, "texture", t.Soil.Texture, words...)
	b.line("soil.texture", word, t.Soil.Texture == "")
	h.Soil.Texture = textures[max(0, slices.Index(words, word))]
	h.Soil.Water = set(b, "soil.moisture", b.share(at, "moisture", t.Soil.Moisture, 0.02, 0.5), d.moisture, b.display.Share)
	if pores := physics.Typical(h.Soil.Texture).Porosity(); h.Soil.Water > pores {
		b.fault(join(at, "moisture"), fmt.Sprintf("%s of water is more than %s holds", b.display.Share(h.Soil.Water), h.Soil.Texture),
			"its pores are "+b.display.Share(pores)+" of the volume; sodden soil is that, a farmed bed about 25 %")
	}
	backfill := b.choice(at, "backfill", t.Soil.Backfill, "native", "stone")
	h.Soil.Stone = backfill == "stone"
	b.line("soil.backfill", backfill, t.Soil.Backfill == "")
	if t.Insulation == nil {
		b.line("insulation", "none", true)
		return
	}
	at = join(table, "insulation")
	for _, key := range []string{"thickness", "depth"} {
		b.missing(at, key, "both of thickness and depth")
	}
	h.Insulation = Insulation{
		ThickM: b.length(at, "thickness", t.Insulation.Thickness, 0.01, 0.3).value,
		DepthM: b.length(at, "depth", t.Insulation.Depth, 0.1, 3).value,
	}
	b.line("insulation", b.display.Length(h.Insulation.ThickM)+" thick, "+b.display.Length(h.Insulation.DepthM)+" down", false)
}
