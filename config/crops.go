package config

import (
	"maps"
	"slices"
	"strings"

	"loambank/config/unit"
)

// noCrop is the crop of a house where nothing can freeze.
const noCrop = "none"

// crop is what a plant bears.
type crop struct {
	limit unit.Celsius // it is harmed below
	chill unit.Celsius // it is hurt below although it does not freeze; used where hurts is set
	hurts bool
	row   string // of safety_and_crops.csv
}

// The limits of a class are the warm end of what the class bears, so that the crop is safe there.
const (
	hardFrost  unit.Celsius = -2.2 // bears less than 28 °F (S020)
	lightFrost unit.Celsius = 0    // bears 28 to 32 °F (S021)
	vineKilled unit.Celsius = 0    // 32 °F (S013)
	warmChill  unit.Celsius = 10   // 50 °F (S022)
)

// crops are the crops known by name, with the warmest looked-up figure that names each. Freezing
// points of harvested produce (S023 to S028) are no limits of a living plant, save where the
// class claims more than the foliage of the plant is known to bear (potato).
var crops = map[string]crop{
	"basil":             {1.7, warmChill, true, "safety_and_crops-S012, S022"},
	"tomato":            {vineKilled, warmChill, true, "safety_and_crops-S013, S022"},
	"pepper":            {vineKilled, warmChill, true, "safety_and_crops-S013, S022"},
	"cucumber":          {vineKilled, warmChill, true, "safety_and_crops-S013, S022"},
	"squash":            {limit: vineKilled, row: "safety_and_crops-S013"},
	"bean":              {limit: vineKilled, row: "safety_and_crops-S013"},
	"eggplant":          {limit: vineKilled, row: "safety_and_crops-S013"},
	"sweet potato":      {limit: vineKilled, row: "safety_and_crops-S013"},
	"sugarloaf chicory": {limit: -2.8, row: "safety_and_crops-S014"},
	"arugula":           {limit: -5.6, row: "safety_and_crops-S015, S016"},
	"escarole":          {limit: -3.9, row: "safety_and_crops-S017"},
	"endive":            {limit: hardFrost, row: "safety_and_crops-S020"},
	"collards":          {limit: hardFrost, row: "safety_and_crops-S020"},
	"kale":              {limit: hardFrost, row: "safety_and_crops-S020"},
	"kohlrabi":          {limit: hardFrost, row: "safety_and_crops-S020"},
	"lettuce":           {limit: hardFrost, row: "safety_and_crops-S020"},
	"mustard":           {limit: hardFrost, row: "safety_and_crops-S020"},
	"onion sets":        {limit: hardFrost, row: "safety_and_crops-S020"},
	"pea":               {limit: hardFrost, row: "safety_and_crops-S020"},
	"rhubarb":           {limit: hardFrost, row: "safety_and_crops-S020"},
	"rutabaga":          {limit: hardFrost, row: "safety_and_crops-S020"},
	"spinach":           {limit: hardFrost, row: "safety_and_crops-S020"},
	"turnip":            {limit: hardFrost, row: "safety_and_crops-S020"},
	"beet":              {limit: lightFrost, row: "safety_and_crops-S021"},
	"broccoli":          {limit: lightFrost, row: "safety_and_crops-S021"},
	"cabbage":           {limit: lightFrost, row: "safety_and_crops-S021"},
	"carrot":            {limit: lightFrost, row: "safety_and_crops-S021"},
	"cauliflower":       {limit: lightFrost, row: "safety_and_crops-S021"},
	"celery":            {limit: lightFrost, row: "safety_and_crops-S021"},
	"chard":             {limit: lightFrost, row: "safety_and_crops-S021"},
	"onion":             {limit: lightFrost, row: "safety_and_crops-S021"},
	"parsnip":           {limit: lightFrost, row: "safety_and_crops-S021"},
	"radish":            {limit: lightFrost, row: "safety_and_crops-S021"},
	"potato":            {limit: -0.8, row: "safety_and_crops-S028"},
	"strawberry":        {limit: -0.8, row: "safety_and_crops-S029"},
}

// cropOf returns the crop of that name, a farm's own before the known ones; the zero crop, which
// may not freeze, where there is none.
func (b *builder) cropOf(name string) crop {
	if c, ok := b.ownCrops[name]; ok {
		return c
	}
	return crops[name]
}

// knowCrop notes a crop that is not known.
func (b *builder) knowCrop(key, name string) {
	_, own := b.ownCrops[name]
	if _, ok := crops[name]; ok || own || name == noCrop {
		return
	}
	known := slices.Sorted(maps.Keys(crops))
	for own := range b.ownCrops {
		known = append(known, own)
	}
	slices.Sort(known)
	remedy := `state its limit, as in crops = { "` + name + `" = "28 °F" }, or write crop = "none"`
	if near := nearest(name, known); near != "" {
		remedy = `did you mean "` + near + `"? Otherwise ` + remedy
	} else {
		remedy += "; known are " + strings.Join(known, ", ")
	}
	b.fault(key, quote(name)+" is not a known crop", remedy)
}

// cropLine renders a crop with its limit.
func (b *builder) cropLine(name string) string {
	if name == noCrop {
		return "none: nothing to save from frost"
	}
	return name + ", bears " + b.display.Setting(b.cropOf(name).limit)
}

// buildCrops reads the farm's own crops.
func (b *builder) buildCrops(written map[string]Temperature) {
	b.group = "crops"
	for _, name := range slices.Sorted(maps.Keys(written)) {
		if name == noCrop {
			b.fault(join("crops", name), `"none" means that nothing can freeze`, "give the crop another name")
			continue
		}
		b.named("crops", name, name)
		limit := b.celsius("crops", name, written[name], -30, 15)
		b.ownCrops[name] = crop{limit: set(b, name, limit, 0, b.display.Setting), row: "the farm's own"}
	}
}
