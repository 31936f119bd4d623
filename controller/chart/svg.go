package chart

import (
	"bufio"
	"cmp"
	"fmt"
	"html"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"loambank/config/unit"
)

// Colours that differ also for the colour-blind: Okabe and Ito, Color Universal Design (2008), the
// eight of their palette without black and yellow, which do not show on every ground.
var colours = [...]string{"#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00"}

// Dashes tell curves apart without colour.
var dashes = [...]string{"", "7 3", "2 3", "9 3 2 3", "12 4", "1 2"}

const style = `text{font:12px system-ui,sans-serif;fill:#222}.t{font-size:15px;font-weight:600}.g{stroke:#ccc;stroke-width:1}` +
	`.c{fill:none;stroke-width:1.8;stroke-linejoin:round}.n{stroke-width:1}.r{stroke:#555;stroke-width:1;stroke-dasharray:5 4}` +
	`.l{paint-order:stroke;stroke:#fff;stroke-width:4px;stroke-linejoin:round}` +
	`@media (prefers-color-scheme:dark){text{fill:#ddd}.g{stroke:#444}.r{stroke:#aaa}.l{stroke:#1b211d}}@media print{text{fill:#000}.l{stroke:#fff}}`

// WriteSVG writes the picture.
func (c *Chart) WriteSVG(w io.Writer) error {
	d := &drawing{c: c, w: bufio.NewWriter(w)}
	height := titleHeight + axisHeight + len(c.Lanes)*laneHeight
	for i := range c.Panels {
		height += c.keyHeight(c.Panels[i].names(), curveSample) + c.Panels[i].height() + panelGap
	}
	if len(c.Lanes) > 0 {
		height += c.keyHeight(c.kinds(), laneSample)
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
	top = d.key(p, top)
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
	}
	for i := range p.Curves {
		d.curve(&p.Curves[i], i, float64(top), height, s)
	}
	d.ruleNames(p, s, top)
	return top + p.height() + panelGap
}

// ruleNames writes the limits' names over the curves: each above its line, or under it where it would
// cover the name of another.
func (d *drawing) ruleNames(p *Panel, s scale, top int) {
	const tall = 13
	rules := slices.Clone(p.Rules)
	slices.SortStableFunc(rules, func(a, b Rule) int { return cmp.Compare(b.Value, a.Value) })
	last := math.Inf(-1)
	for _, r := range rules {
		y := float64(top) + s.y(r.Value, float64(p.height()))
		at := y - 4
		if at < last+tall {
			at = max(y+tall, last+tall)
		}
		d.text(float64(d.c.width()-right-4), at, "l", "end", r.Name)
		last = at
	}
}

// label names a value with as many decimals as the axis needs.
func label(v, step float64) string {
	decimals := 0
	for s := step; s < 0.999 && decimals < 6; s *= 10 {
		decimals++
	}
	return unit.Number(v, decimals)
}

func (d *drawing) curve(curve *Curve, i int, top, height float64, s scale) {
	at := func(v float64) string { return px(top + s.y(v, height)) }
	var path strings.Builder
	pens := d.c.thin(curve)
	for i, p := range pens {
		if p.begins && (i+1 == len(pens) || pens[i+1].begins) && p.low == p.high { // one value alone shows as a short stroke
			fmt.Fprintf(&path, "M%s %sh4", px(p.x-2), at(p.first))
			continue
		}
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

// key names the curves of a panel, and returns where its drawing area begins.
func (d *drawing) key(p *Panel, top int) int {
	names := p.names()
	for i, at := range d.c.keyed(names, curveSample) {
		y := top + at.row*keyHeight
		d.f(`<path class="c" stroke="%s" stroke-dasharray="%s" d="M%s %dh26"/>`, colours[i%len(colours)], dashes[i%len(dashes)], num(at.x), y+8)
		d.text(at.x+curveSample, float64(y)+12, "", "start", names[i])
	}
	return top + d.c.keyHeight(names, curveSample)
}

// lanes draws the strips with their key, and returns where the axis begins.
func (d *drawing) lanes(top int) int {
	if len(d.c.Lanes) == 0 {
		return top
	}
	kinds := d.c.kinds()
	for i, at := range d.c.keyed(kinds, laneSample) {
		y := top + at.row*keyHeight
		d.f(`<rect x="%s" y="%d" width="14" height="10" fill="%s"/>`, num(at.x), y+3, colours[d.c.colour(kinds[i])])
		d.text(at.x+laneSample, float64(y)+12, "", "start", kinds[i])
	}
	top += d.c.keyHeight(kinds, laneSample)
	for _, lane := range d.c.Lanes {
		d.text(left-8, float64(top)+14, "", "end", lane.Name)
		for _, s := range lane.Stretches {
			from, to := max(left, d.c.x(s.From)), min(float64(d.c.width()-right), d.c.x(s.To))
			if to <= from {
				continue
			}
			i := d.c.colour(s.Kind)
			// Each kind also has a height of its own, for print.
			h := float64(laneHeight-6) * (1 - 0.12*float64(i))
			d.f(`<rect x="%s" y="%s" width="%s" height="%s" fill="%s"/>`, px(from), px(float64(top+laneHeight-3)-h),
				px(max(0.5, to-from)), px(h), colours[i])
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
		half := letterPx * float64(len(t.label)) / 2
		d.text(min(x, float64(d.c.width())-half), float64(top)+19, "", "middle", t.label) // a later one would be cut off
	}
}
