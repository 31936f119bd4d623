package unit

// Factors to SI from NIST SP 811 (greenhouse-S019 to S021); the rest are exact by definition.
const (
	footM   = 0.3048
	inchM   = 0.0254
	btuW    = 0.2930711      // 1 Btu/h in W
	cfmM3s  = 0.0004719474   // 1 ft3/min in m3/s
	hpW     = 745.6998715822 // 550 ft lbf/s
	btuFWK  = btuW * 9 / 5   // 1 Btu/(h °F) in W/K
	squareF = footM * footM  // 1 ft2 in m2
)

var (
	powers = family{"an electric power", `"600 W", "1.2 kW" or "0.5 hp"`, []factor{
		{"W", 1}, {"kW", 1000}, {"hp", hpW},
	}, 0, 1e6}
	heatRates = family{"a heat rate", `"60 kBtu/h" or "17 kW"`, []factor{
		{"W", 1}, {"kW", 1000}, {"Btu/h", btuW}, {"kBtu/h", 1000 * btuW}, {"BTU/h", btuW}, {"kBTU/h", 1000 * btuW},
	}, 0, 1e7}
	flows = family{"an air flow", `"800 cfm", "1400 m3/h" or "220 L/s"`, []factor{
		{"cfm", cfmM3s},
		{"CFM", cfmM3s},
		{"m3/h", 1.0 / 3600},
		{"m³/h", 1.0 / 3600},
		{"m3/s", 1},
		{"m³/s", 1},
		{"L/s", 0.001},
		{"l/s", 0.001},
	}, 0, 1000}
	lengths = family{"a length", `"18 in", "30 ft" or "0.45 m"`, []factor{
		{"m", 1}, {"cm", 0.01}, {"mm", 0.001}, {"ft", footM}, {"in", inchM},
	}, -1000, 10000}
	areas = family{"an area", `"2900 ft2" or "270 m2"`, []factor{
		{"m2", 1}, {"m²", 1}, {"ft2", squareF}, {"ft²", squareF}, {"sq ft", squareF},
	}, 0, 1e6}
	volumes = family{"a volume", `"1 m3" or "1 yd3"`, []factor{
		{"m3", 1}, {"m³", 1}, {"ft3", squareF * footM}, {"ft³", squareF * footM}, {"yd3", 27 * squareF * footM}, {"yd³", 27 * squareF * footM},
	}, 0, 1e6}
	conductances = family{"a heat loss", `"350 W/K" or "660 Btu/h/°F"`, []factor{
		{"W/K", 1}, {"W/°C", 1}, {"Btu/h/°F", btuFWK}, {"Btu/h/F", btuFWK}, {"BTU/h/°F", btuFWK},
	}, 0, 1e6}
	shares = family{"a share", `a share such as "80 %"`, []factor{{"%", 0.01}}, 0, 10}
)

// ParsePower reads an electric power, "600 W", "1.2 kW" or "0.5 hp", in W.
func ParsePower(text string) (powerW float64, err error) { return powers.parse(text) }

// ParseHeatRate reads a heat rate, "60 kBtu/h", "60000 Btu/h" or "17 kW", in W.
func ParseHeatRate(text string) (heatW float64, err error) { return heatRates.parse(text) }

// ParseFlow reads an air flow, "800 cfm", "1500 m3/h", "0.4 m3/s" or "220 L/s", in m3/s.
func ParseFlow(text string) (flowM3s float64, err error) { return flows.parse(text) }

// ParseLength reads a length, "30 ft", "18 in", "0.5 m" or "45 cm", in m. It may be negative: a
// farm may lie below the sea.
func ParseLength(text string) (lengthM float64, err error) { return lengths.parse(text) }

// ParseArea reads an area, "2900 ft2" or "270 m2", in m2.
func ParseArea(text string) (areaM2 float64, err error) { return areas.parse(text) }

// ParseVolume reads a volume, "3 yd3" or "2.3 m3", in m3.
func ParseVolume(text string) (volumeM3 float64, err error) { return volumes.parse(text) }

// ParseConductance reads a heat loss per degree, "350 W/K" or "660 Btu/h/°F", in W/K.
func ParseConductance(text string) (lossWK float64, err error) { return conductances.parse(text) }

// ParseShare reads a share, "80 %", and returns 0.8; 0 to 10, since a heat pump gives more than
// it takes. A bare 0.8 is refused: whether it
// means 80 % or 0.8 % nobody can tell from outside.
func ParseShare(text string) (float64, error) { return shares.parse(text) }

// ParseIn reads a number in the one unit that the quantity is known by, such as "800 ppm".
func ParseIn(text, unitName string) (float64, error) {
	f := family{"this value", `it in ` + unitName + `, as in "100 ` + unitName + `"`, []factor{{unitName, 1}}, -1e9, 1e9}
	return f.parse(text)
}
