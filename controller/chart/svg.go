package chart

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"slices"
	"strconv"
	"strings"
)

// Colours that differ also for the colour-blind: Okabe and Ito, Color Universal Design (2008), the
// eight of their palette without black and yellow, which do not show on every ground.
var colours = [...]string{"#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00"}

// Dashes tell curves apart without colour.
var dashes = [...]string{"", "7 3", "2 3", "9 3 2 3", "12 4", "1 2"}

const style = `text{font:12px system-ui,sans-serif;fill:#222}.t{font-size:15px;font-weight:600}.g{stroke:#ccc;stroke-width:1}` +
	`.c{fill:none;stroke-width:1.8;stroke-linejoin:round}.n{stroke-width:1}.r{stroke:#555;stroke-width:1;stroke-dasharray:5 4}` +
	`@media (prefers-color-scheme:dark){text{fill:#ddd}.g{stroke:#444}.r{stroke:#aaa}}@media print{text{fill:#000}}`

// WriteSVG writes the picture.
func (c *Chart) WriteSVG(w io.Writer) error {
	d := &drawing{c: c, w: bufio.NewWriter(w)}
	height := titleHeight + axisHeight + len(c.Lanes)*laneHeight
	for i := range c.Panels {
		height += keyHeight + c.Panels[i].height() + panelGap
	}
	if len(c.Lanes) > 0 {
		height += keyHeight
	}
	d.f(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-label="%s">`,
		c.width(), height, c.width(), height, html.EscapeString(c.Title))
	d.f(`<title>%s</title><desc>%s</desc><style>%s</style>`, html.EscapeString(c.Title), html.EscapeString(c.About), style)
	d.text(left, 20, "t", "start", c.Title)
	y := titleHeight
	for i := range c.Panels {
		y = d.panel(&c.Panels[i], y)
	}
	y = d.lanes(y)
	d.timeAxis(y)
	d.f("</svg>\n")
	return d.w.Flush()
}

// drawing writes one picture. The writer keeps its first error.
type drawing struct {
	c *Chart
	w *bufio.Writer
}

func (d *drawing) f(format string, args ...any) { fmt.Fprintf(d.w, format, args...) }

func (d *drawing) text(x, y float64, class, anchor, text string) {
	d.f(`<text x="%s" y="%s" class="%s" text-anchor="%s">%s</text>`, num(x), num(y), class, anchor, html.EscapeString(text))
}

func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func px(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// panel draws one value axis with its curves, and returns where the next begins.
func (d *drawing) panel(p *Panel, top int) int {
	d.key(p, top)
	top += keyHeight
	height := float64(p.height())
	s := scaleOf(p, p.height()/40)
	d.text(left-8, float64(top)-10, "", "end", p.Name)
	for _, v := range s.ticks() {
		y := float64(top) + s.y(v, height)
		d.f(`<line class="g" x1="%d" x2="%d" y1="%s" y2="%s"/>`, left, d.c.width()-right, px(y), px(y))
		d.text(left-8, y+4, "", "end", label(v, s.step))
	}
	for _, r := range p.Rules {
		y := float64(top) + s.y(r.Value, height)
		d.f(`<line class="r" x1="%d" x2="%d" y1="%s" y2="%s"><title>%s</title></line>`, left, d.c.width()-right, px(y), px(y), html.EscapeString(r.Name))
		d.text(float64(d.c.width()-right-4), y-4, "", "end", r.Name)
	}
	for i := range p.Curves {
		d.curve(&p.Curves[i], i, float64(top), height, s)
	}
	return top + p.height() + panelGap
}

// label names a value with as many decimals as the axis needs.
func label(v, step float64) string {
	decimals := 0
	for s := step; s < 0.999 && decimals < 6; s *= 10 {
		decimals++
	}
	if text := strconv.FormatFloat(v, 'f', decimals, 64); text != "-0" {
		return strings.Replace(text, "-", "−", 1)
	}
	return "0"
}

func (d *drawing) curve(curve *Curve, i int, top, height float64, s scale) {
	at := func(v float64) string { return px(top + s.y(v, height)) }
	var path strings.Builder
	for _, p := range d.c.thin(curve) {
		step := "L"
		if p.begins {
			step = "M"
		}
		fmt.Fprintf(&path, "%s%s %s", step, num(p.x), at(p.first))
		if p.low != p.high {
			fmt.Fprintf(&path, "V%sV%sV%s", at(p.low), at(p.high), at(p.last))
		}
	}
	class := "c"
	if curve.Thin {
		class = "c n"
	}
	d.f(`<path class="%s" stroke="%s" stroke-dasharray="%s" d="%s"><title>%s</title></path>`,
		class, colours[i%len(colours)], dashes[i%len(dashes)], path.String(), html.EscapeString(curve.Name))
}

// key names the curves of a panel.
func (d *drawing) key(p *Panel, top int) {
	x := float64(left) + 40
	for i := range p.Curves {
		d.f(`<path class="c" stroke="%s" stroke-dasharray="%s" d="M%s %dh26"/>`, colours[i%len(colours)], dashes[i%len(dashes)], num(x), top+8)
		d.text(x+31, float64(top)+12, "", "start", p.Curves[i].Name)
		x += 31 + 7*float64(len([]rune(p.Curves[i].Name))) + 22
	}
}

// kinds are the kinds of stretches in the order in which they first stand.
func (d *drawing) kinds() (all []string) {
	for _, lane := range d.c.Lanes {
		for _, s := range lane.Stretches {
			if !slices.Contains(all, s.Kind) {
				all = append(all, s.Kind)
			}
		}
	}
	return all
}

// lanes draws the strips with their key, and returns where the axis begins.
func (d *drawing) lanes(top int) int {
	if len(d.c.Lanes) == 0 {
		return top
	}
	kinds := d.kinds()
	x := float64(left) + 40
	for i, kind := range kinds {
		d.f(`<rect x="%s" y="%d" width="14" height="10" fill="%s"/>`, num(x), top+3, colours[i%len(colours)])
		d.text(x+19, float64(top)+12, "", "start", kind)
		x += 19 + 7*float64(len([]rune(kind))) + 22
	}
	top += keyHeight
	for _, lane := range d.c.Lanes {
		d.text(left-8, float64(top)+14, "", "end", lane.Name)
		for _, s := range lane.Stretches {
			from, to := max(left, d.c.x(s.From)), min(float64(d.c.width()-right), d.c.x(s.To))
			if to <= from {
				continue
			}
			i := slices.Index(kinds, s.Kind)
			// Each kind also has a height of its own, for print.
			h := float64(laneHeight-6) * (1 - 0.12*float64(i%len(colours)))
			d.f(`<rect x="%s" y="%s" width="%s" height="%s" fill="%s"/>`, px(from), px(float64(top+laneHeight-3)-h),
				px(max(0.5, to-from)), px(h), colours[i%len(colours)])
		}
		top += laneHeight
	}
	return top
}

func (d *drawing) timeAxis(top int) {
	d.f(`<line class="g" x1="%d" x2="%d" y1="%d" y2="%d"/>`, left, d.c.width()-right, top, top)
	for _, t := range d.c.timeTicks() {
		x := d.c.x(t.at)
		d.f(`<line class="g" x1="%s" x2="%s" y1="%d" y2="%d"/>`, px(x), px(x), top, top+5)
		anchor := "middle"
		if x > float64(d.c.width()-right-30) { // it would be cut off
			anchor = "end"
		}
		d.text(x, float64(top)+19, "", anchor, t.label)
	}
}
