package mqtt

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"loambank/drivers/device"
)

// Path leads to a value within a payload. The zero value is the whole payload.
type Path struct {
	text  string
	steps []string
}

// mostSteps bounds how deep a path goes; no payload of a probe is as deep.
const mostSteps = 16

// ParsePath reads names and numbers with dots between them: "air.temperature", "probes.0.value". A
// number is the place in a list, from 0, or a name. "" is the whole payload.
func ParsePath(text string) (Path, error) {
	if text == "" {
		return Path{}, nil
	}
	steps := strings.Split(text, ".")
	if len(steps) > mostSteps {
		return Path{}, fmt.Errorf("%.40q is deeper than %d names", text, mostSteps)
	}
	for _, s := range steps {
		if s == "" {
			return Path{}, fmt.Errorf(`%.40q has an empty name; write names with single dots between them, as in "air.temperature"`, text)
		}
	}
	return Path{text, steps}, nil
}

// String returns the path as ParsePath reads it.
func (p Path) String() string { return p.text }

// Find returns the text at the path of a payload: of a number as it is written, of a text what it
// says, of true and false 1 and 0. It gives ErrFormat where there is none.
func (p Path) Find(payload []byte) (string, error) {
	if len(p.steps) == 0 {
		return strings.TrimSpace(string(payload)), nil
	}
	d := json.NewDecoder(bytes.NewReader(payload))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		return "", fmt.Errorf("%w: %s is not JSON: %w", device.ErrFormat, show(payload), err)
	}
	for i, step := range p.steps {
		next, ok := inside(v, step)
		if !ok {
			return "", fmt.Errorf("%w: %s has no %q", device.ErrFormat, show(payload), strings.Join(p.steps[:i+1], "."))
		}
		v = next
	}
	switch v := v.(type) {
	case json.Number:
		return v.String(), nil
	case string:
		return strings.TrimSpace(v), nil
	case bool:
		if v {
			return "1", nil
		}
		return "0", nil
	}
	return "", fmt.Errorf("%w: %q of %s is neither number nor text", device.ErrFormat, p.text, show(payload))
}

func inside(v any, step string) (any, bool) {
	switch v := v.(type) {
	case map[string]any:
		next, ok := v[step]
		return next, ok
	case []any:
		i, err := strconv.ParseUint(step, 10, 16)
		if err != nil || int(i) >= len(v) {
			return nil, false
		}
		return v[i], true
	}
	return nil, false
}

// Number returns the finite number at the path of a payload. It gives ErrFormat for anything else;
// words such as "on" are no numbers, true and false of JSON behind a path are 1 and 0.
func (p Path) Number(payload []byte) (float64, error) {
	text, err := p.Find(payload)
	if err != nil {
		return 0, err
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%w: %.40q is no number", device.ErrFormat, text)
	}
	return v, nil
}

// show renders a payload for people.
func show(payload []byte) string { return fmt.Sprintf("%.60q", payload) }
