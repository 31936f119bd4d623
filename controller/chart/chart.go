package chart

import (
	"time"
)

// Chart is one picture: panels that share a time axis, the lanes under them.
type Chart struct {
	Title  string
	About  string // a sentence for those who do not see the picture
	From   time.Time
	To     time.Time
	Zone   *time.Location // of the time axis; nil is UTC
	Panels []Panel
	Lanes  []Lane
	// Kinds are kinds of stretches in the order of their colours, so that pictures of other times have
	// the same ones. Others follow in the order in which they first stand.
	Kinds []string
	Width int // pixels; 0 is 900
}

// Panel is one value axis with its curves.
type Panel struct {
	Name   string // of the axis, with its unit, for example "°F"
	Height int    // pixels of the drawing area; 0 is 220
	Curves []Curve
	Rules  []Rule
	Zero   bool // the axis begins at zero
}

// Curve is values over time, sorted by time.
type Curve struct {
	Name   string
	Points []Point
	Thin   bool // one of lesser weight
}

// Point is one value. Gap says that there is none from the last point up to here.
type Point struct {
	Time  time.Time
	Value float64
	Gap   bool
}

// Rule is a limit drawn across a panel.
type Rule struct {
	Name  string
	Value float64
}

// Lane is a strip of stretches over time, such as what the fans of a store did.
type Lane struct {
	Name      string
	Stretches []Stretch
}

// Stretch is one thing that lasted. Kind picks its colour and names it in the key.
type Stretch struct {
	From, To time.Time
	Kind     string
}

const (
	defaultWidth  = 900
	defaultHeight = 220
	laneHeight    = 22
	left          = 62
	right         = 14
	titleHeight   = 30
	keyHeight     = 20
	panelGap      = 14
	axisHeight    = 34
)

func (c *Chart) width() int {
	if c.Width > 0 {
		return c.Width
	}
	return defaultWidth
}

func (p *Panel) height() int {
	if p.Height > 0 {
		return p.Height
	}
	return defaultHeight
}

func (c *Chart) zone() *time.Location {
	if c.Zone == nil {
		return time.UTC
	}
	return c.Zone
}

// span is the length of the time axis, s, over zero.
func (c *Chart) span() float64 { return max(1, c.To.Sub(c.From).Seconds()) }

// x is where a time stands, in pixels.
func (c *Chart) x(t time.Time) float64 {
	share := t.Sub(c.From).Seconds() / c.span()
	return left + share*float64(c.width()-left-right)
}
