package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Error says what is wrong with a written quantity and what would be right. Callers that show a
// place beside it take the two apart.
type Error struct {
	What   string // what is wrong, with the text as it was written
	Remedy string // what would be right
}

// Error returns "what; remedy".
func (e *Error) Error() string { return e.What + "; " + e.Remedy }

// maxText bounds a written quantity; a longer one is a slip of the editor.
const maxText = 64

// term is one number with its unit, as in "65 °F".
type term struct {
	value float64
	unit  string // "" where none was written
}

// split takes text apart into its number and its unit. want is an example for the remedy.
func split(text, want string) (term, error) {
	s := strings.TrimSpace(text)
	switch {
	case s == "":
		return term{}, &Error{"nothing is written", "write " + want}
	case len(s) > maxText || !utf8.ValidString(s):
		return term{}, &Error{fmt.Sprintf("%.24q… is not a quantity", s), "write " + want}
	}
	n, rest, err := number(s, want)
	if err != nil {
		return term{}, err
	}
	return term{n, strings.TrimSpace(rest)}, nil
}

// number reads the number at the start of s. There is no exponent: growers write none, and
// "3e" would be read as a number with a strange unit.
func number(s, want string) (value float64, rest string, err error) {
	digits := s
	if after, found := strings.CutPrefix(s, "−"); found {
		digits = "-" + after
	}
	end := 0
	for end < len(digits) && numeral(digits[end], end == 0) {
		end++
	}
	value, perr := strconv.ParseFloat(digits[:end], 64)
	if perr != nil || math.IsInf(value, 0) || math.IsNaN(value) {
		return 0, "", &Error{fmt.Sprintf("%q does not begin with a number", s), "write " + want}
	}
	rest = digits[end:]
	if after, found := strings.CutPrefix(rest, ","); found && after != "" && after[0] >= '0' && after[0] <= '9' {
		return 0, "", &Error{fmt.Sprintf("%q has a comma in its number", s), "write a decimal point and no thousands mark, as in " + want}
	}
	return value, rest, nil
}

// numeral reports whether c belongs to a number; a sign does so only in first place.
func numeral(c byte, first bool) bool {
	return c >= '0' && c <= '9' || c == '.' || first && (c == '+' || c == '-')
}

// family is one kind of quantity: its units as factors to SI, and the range a hoop house can ask
// for. Values beyond it are slips, not wishes.
type family struct {
	noun     string // "a power"
	examples string // `"600 W" or "1.2 kW"`
	units    []factor
	min, max float64 // SI
}

// factor is one accepted spelling of a unit.
type factor struct {
	name string
	si   float64
}

// parse reads text as one quantity of the family and returns it in SI.
func (f family) parse(text string) (float64, error) {
	t, err := split(text, f.examples)
	if err != nil {
		return 0, err
	}
	if t.unit == "" {
		return 0, noUnit(text, f.examples)
	}
	for _, u := range f.units {
		if u.name == t.unit {
			return f.bound(text, t.value*u.si)
		}
	}
	return 0, &Error{fmt.Sprintf("%q: %q is not a unit of %s", strings.TrimSpace(text), t.unit, f.noun), "write " + f.examples}
}

// bound refuses what no house has.
func (f family) bound(text string, si float64) (float64, error) {
	if si < f.min || si > f.max || math.IsNaN(si) {
		return 0, &Error{fmt.Sprintf("%q is out of range for %s", strings.TrimSpace(text), f.noun), "write something like " + f.examples}
	}
	return si, nil
}

func noUnit(text, want string) error {
	return &Error{fmt.Sprintf("%q has no unit", strings.TrimSpace(text)), "write " + want}
}
