package commission

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"loambank/config/unit"
)

// airflowExamples is what may be typed.
const airflowExamples = `a flow such as "800 cfm" or "1400 m3/h", or the anemometer's readings and what they were taken in: ` +
	`"650 640 655 fpm in 12 in" (diameter of a round duct) or "3.2 3.4 m/s in 0.07 m2"`

const metresPerFoot = 0.3048

// airSpeeds are the units of an anemometer, m/s.
var airSpeeds = map[string]float64{"fpm": metresPerFoot / 60, "ft/min": metresPerFoot / 60, "m/s": 1, "km/h": 1 / 3.6, "mph": 0.44704}

// mostReadings bounds what a person types of one duct.
const mostReadings = 50

// ParseAirflow reads a measured airflow, m³/s: a flow, or air speeds and the duct they were taken in,
// whose mean times the duct's area it is. Readings taken all over the section are what makes the mean
// right; how, the anemometer's manual says.
func ParseAirflow(text string) (flowM3s float64, err error) {
	text = strings.TrimSpace(text)
	measured, duct, inDuct := strings.Cut(text, " in ")
	if !inDuct {
		return unit.ParseFlow(text)
	}
	speedMs, err := meanSpeed(measured)
	if err != nil {
		return 0, err
	}
	areaM2, err := ductArea(duct)
	if err != nil {
		return 0, err
	}
	const most = 60 // m³/s; no fan of a house moves more
	if flow := speedMs * areaM2; flow > 0 && flow <= most {
		return flow, nil
	}
	return 0, fmt.Errorf("%q is no airflow of a fan; write %s", text, airflowExamples)
}

// meanSpeed is the mean of some readings with one unit at their end, m/s.
func meanSpeed(text string) (float64, error) {
	words := strings.Fields(strings.ReplaceAll(text, ",", " "))
	if len(words) < 2 {
		return 0, fmt.Errorf("%q holds no readings with a unit; write %s", text, airflowExamples)
	}
	last := len(words) - 1
	factor, known := airSpeeds[words[last]]
	if !known {
		return 0, fmt.Errorf("%q is no unit of air speed; write fpm, m/s, km/h or mph", words[last])
	}
	if last > mostReadings {
		return 0, fmt.Errorf("%d readings are too many; write at most %d", last, mostReadings)
	}
	sum := 0.0
	for _, w := range words[:last] {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil || !(v >= 0) || math.IsInf(v, 0) {
			return 0, fmt.Errorf("%q is no reading; write numbers with spaces between, and the unit once at their end", w)
		}
		sum += v
	}
	return factor * sum / float64(last), nil
}

// ductArea is the area of a round duct by its diameter, or as it is written, m².
func ductArea(text string) (float64, error) {
	if areaM2, err := unit.ParseArea(text); err == nil {
		return areaM2, nil
	}
	d, err := unit.ParseLength(text)
	if err != nil {
		var u *unit.Error
		if errors.As(err, &u) {
			return 0, fmt.Errorf("%s; write a diameter such as \"12 in\" or an area such as \"0.07 m2\"", u.What)
		}
		return 0, err
	}
	if !(d > 0 && d <= 5) {
		return 0, fmt.Errorf("%q is no diameter of a duct; write one such as \"12 in\"", strings.TrimSpace(text))
	}
	return math.Pi * d * d / 4, nil
}
