package learn

// Nights remembers how cold it was outside.
type Nights struct {
	Low   Temp    `json:"low"` // of this night so far
	DarkS float64 `json:"dark_s"`
	Lows  [5]Temp `json:"lows"` // of the last nights, newest first
}

// leastDarkS is the shortest dark that is a night, s: a night of summer in the far north.
const leastDarkS = 3 * hourS

func (n *Nights) add(s *Sample) {
	if s.Dark {
		n.DarkS += s.StepS
		if s.Outside.Known && (!n.Low.Known || s.Outside.C < n.Low.C) {
			n.Low = s.Outside
		}
		return
	}
	if n.DarkS >= leastDarkS && n.Low.Known {
		copy(n.Lows[1:], n.Lows[:len(n.Lows)-1])
		n.Lows[0] = n.Low
	}
	n.Low, n.DarkS = Temp{}, 0
}

// Origin is where an expected low comes from. The zero value is that none is expected.
type Origin uint8

// The closed list of origins, the least trusted first.
const (
	NoLow      Origin = iota
	Climate           // the climate's one-in-ten night
	LastNights        // the coldest of the last five
	Typed             // a person's
)

// String is the origin in words.
func (o Origin) String() string {
	switch o {
	case Climate:
		return "one night in ten is colder"
	case LastNights:
		return "coldest of the last five nights"
	case Typed:
		return "typed in"
	}
	return "not known"
}

// Low is how cold tonight is expected to get, and who says so.
type Low struct {
	Temp   Temp
	Origin Origin
}

// ExpectedLow is what a person typed, else the coldest of the last five nights, else the climate's
// one-in-ten night. Fewer than five nights, as after a start, are not the last five.
func (p *Params) ExpectedLow(typed, climate Temp) Low {
	if typed.Known {
		return Low{typed, Typed}
	}
	low := p.Nights.Lows[0]
	for _, t := range p.Nights.Lows {
		if !t.Known {
			low = Temp{}
			break
		}
		if t.C < low.C {
			low = t
		}
	}
	switch {
	case low.Known:
		return Low{low, LastNights}
	case climate.Known:
		return Low{climate, Climate}
	}
	return Low{}
}
