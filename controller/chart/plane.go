package chart

import (
	"bufio"
	"html"
	"io"
)

// Plane is a picture of one figure over another: spots, joined to lines or not.
type Plane struct {
	Title  string
	About  string // a sentence for those who do not see the picture
	X, Y   Axis
	Series []Series
	Width  int // pixels; 0 is 900
	Height int // pixels of the drawing area; 0 is 360
}

// Axis is what a plane is laid out over.
type Axis struct {
	Name string // with its unit
	// Names stand at 0, 1, 2 and so on instead of numbers, such as those of months.
	Names []string
	Zero  bool // it begins at zero
}

// Series is spots that belong together. At most six are told apart by colour and form.
type Series struct {
	Name   string
	Joined bool // by a line, in their order
	Spots  []Spot
}

// Spot is one point of a plane.
type Spot struct {
	X, Y  float64
	Label string // stands beside it
}

const planeHeight = 360

// WriteSVG writes the picture.
func (p *Plane) WriteSVG(w io.Writer) error {
	frame := &Chart{Width: p.Width}
	d := &drawing{c: frame, w: bufio.NewWriter(w)}
	tall := p.Height
	if tall == 0 {
		tall = planeHeight
	}
	const names = 18 // of the axis below
	height := titleHeight + keyHeight + tall + axisHeight + names
	d.f(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-label="%s">`,
		frame.width(), height, frame.width(), height, html.EscapeString(p.Title))
	d.f(`<title>%s</title><desc>%s</desc><style>%s</style>`, html.EscapeString(p.Title), html.EscapeString(p.About), style)
	d.text(left, 20, "t", "start", p.Title)
	d.seriesKey(p)
	a := area{
		top: titleHeight + keyHeight, height: float64(tall), width: float64(frame.width() - left - right),
		x: p.scale(p.X, max(2, (frame.width()-left-right)/90), func(s Spot) float64 { return s.X }),
		y: p.scale(p.Y, tall/40, func(s Spot) float64 { return s.Y }),
	}
	d.grid(p, a)
	for i := range p.Series {
		d.series(&p.Series[i], i, a)
	}
	d.f("</svg>\n")
	return d.w.Flush()
}

// scale fits an axis around its figures.
func (p *Plane) scale(axis Axis, lines int, of func(Spot) float64) scale {
	if n := len(axis.Names); n > 0 {
		return scale{-0.5, float64(n) - 0.5, 1}
	}
	panel := Panel{Zero: axis.Zero}
	for i := range p.Series {
		var curve Curve
		for _, s := range p.Series[i].Spots {
			curve.Points = append(curve.Points, Point{Value: of(s)})
		}
		panel.Curves = append(panel.Curves, curve)
	}
	return scaleOf(&panel, lines)
}

// area is where the spots are drawn.
type area struct {
	top, height, width float64
	x, y               scale
}

func (a area) at(s Spot) (x, y float64) {
	return left + a.width - a.x.y(s.X, a.width), a.top + a.y.y(s.Y, a.height)
}

func (d *drawing) grid(p *Plane, a area) {
	d.text(left-8, a.top-10, "", "end", p.Y.Name)
	for _, v := range a.y.ticks() {
		_, y := a.at(Spot{Y: v})
		d.f(`<line class="g" x1="%d" x2="%d" y1="%s" y2="%s"/>`, left, d.c.width()-right, px(y), px(y))
		d.text(left-8, y+4, "", "end", label(v, a.y.step))
	}
	bottom := a.top + a.height
	tick := func(v float64, name string) {
		x, _ := a.at(Spot{X: v})
		d.f(`<line class="g" x1="%s" x2="%s" y1="%s" y2="%s"/>`, px(x), px(x), px(bottom), px(bottom+5))
		anchor := "middle"
		if x > float64(d.c.width()-right-30) {
			anchor = "end"
		}
		d.text(x, bottom+19, "", anchor, name)
	}
	for i, name := range p.X.Names {
		tick(float64(i), name)
	}
	if len(p.X.Names) == 0 {
		for _, v := range a.x.ticks() {
			tick(v, label(v, a.x.step))
		}
	}
	d.text(left+a.width/2, bottom+38, "", "middle", p.X.Name)
}

// mark draws the form of a series: each has its own, for print and for the colour-blind.
func (d *drawing) mark(i int, x, y float64) {
	colour := colours[i%len(colours)]
	switch i % len(colours) {
	case 0:
		d.f(`<circle cx="%s" cy="%s" r="4.5" fill="%s"/>`, px(x), px(y), colour)
	case 1:
		d.f(`<rect x="%s" y="%s" width="9" height="9" fill="%s"/>`, px(x-4.5), px(y-4.5), colour)
	case 2:
		d.f(`<path d="M%s %sl5.5 10h-11z" fill="%s"/>`, px(x), px(y-6), colour)
	case 3:
		d.f(`<path d="M%s %sl6 6-6 6-6-6z" fill="%s"/>`, px(x), px(y-6), colour)
	case 4:
		d.f(`<circle cx="%s" cy="%s" r="4" fill="none" stroke="%s" stroke-width="2"/>`, px(x), px(y), colour)
	default:
		d.f(`<path d="M%s %sl9 9m0-9l-9 9" fill="none" stroke="%s" stroke-width="2.5"/>`, px(x-4.5), px(y-4.5), colour)
	}
}

func (d *drawing) series(s *Series, i int, a area) {
	if s.Joined && len(s.Spots) > 1 {
		d.f(`<path class="c" stroke="%s" stroke-dasharray="%s" d="`, colours[i%len(colours)], dashes[i%len(dashes)])
		for k, spot := range s.Spots {
			x, y := a.at(spot)
			step := "L"
			if k == 0 {
				step = "M"
			}
			d.f("%s%s %s", step, px(x), px(y))
		}
		d.f(`"/>`)
	}
	for _, spot := range s.Spots {
		x, y := a.at(spot)
		d.mark(i, x, y)
		anchor, beside := "start", x+9
		if x > left+a.width*0.8 { // it would be cut off
			anchor, beside = "end", x-9
		}
		if spot.Label != "" {
			d.text(beside, y-7, "", anchor, spot.Label)
		}
	}
}

// seriesKey names the series.
func (d *drawing) seriesKey(p *Plane) {
	x := float64(left) + 60
	for i := range p.Series {
		d.mark(i, x, titleHeight+6)
		d.text(x+12, titleHeight+10, "", "start", p.Series[i].Name)
		x += 12 + 7*float64(len([]rune(p.Series[i].Name))) + 26
	}
}
