package page

import (
	"cmp"
	"slices"

	"loambank/config/unit"
	"loambank/controller/judge"
)

// drawing is a cut through house and soil with the temperatures where they were read, in the
// pixels of its own 360 wide box.
type drawing struct {
	Title   string
	About   string // the same in words
	Height  float64
	Soil    float64 // height of the soil shown
	House   string
	Outside string
	Crop    bool
	Running bool
	Pipes   []dot
	PipeY   float64
	Marks   []mark
	Arrow   string // up, down or empty
	ArrowY  float64
	Heat    string // what flows, in words
}

type dot struct{ X, Y float64 }

// mark is a soil probe: a dot at its depth and its label beside it.
type mark struct {
	dot
	TextX, TextY float64
	DepthY       float64
	End          bool // the label ends at TextX
	Text, Depth  string
}

const (
	groundY   = 128.0 // of the drawing's 360 by
	soilPx    = 168.0
	shallowM  = 0.6 // so much soil is shown at least, m
	labelStep = 18.0
	pipes     = 7
	leftPx    = 76.0 // the store's footprint
	rightPx   = 292.0
)

// draw makes the drawing of a store.
func draw(h *House, i int) *drawing {
	s, d := &h.Stores[i], h.style.display
	x := &drawing{
		Title: "Cut through " + h.Name + " and " + s.Name, Soil: soilPx, Height: groundY + soilPx + 8, House: "house not known",
		Crop: h.FrostC != nil, Running: s.Running,
	}
	if h.CropC != nil {
		x.House = d.Temperature(unit.Celsius(*h.CropC))
	}
	if h.OutsideC != nil {
		x.Outside = d.Temperature(unit.Celsius(*h.OutsideC))
	}
	probes := soilProbes(h, s)
	deepest, pipeM := shallowM, s.PipeDepthM
	for _, r := range probes {
		deepest = max(deepest, r.DepthM)
		if pipeM == 0 && r.Place == judge.Between.String() {
			pipeM = r.DepthM
		}
	}
	deepest = 1.15 * max(deepest, pipeM)
	y := func(depthM float64) float64 { return rounded(groundY+soilPx*depthM/deepest, 10) }
	if pipeM > 0 {
		x.PipeY = y(pipeM)
		for k := range pipes {
			x.Pipes = append(x.Pipes, dot{rounded(leftPx+18+float64(k)*(rightPx-leftPx-36)/(pipes-1), 10), x.PipeY})
		}
	}
	x.place(probes, y, d)
	x.flow(s, d)
	x.About = x.words()
	return x
}

// soilProbes are those of a store, and of the house outside it, by depth.
func soilProbes(h *House, s *Store) (all []*Reading) {
	for i := range h.Readings {
		r := &h.Readings[i]
		if r.Role == judge.Soil.String() && (r.Store == s.Name || r.Store == "") && r.DepthM > 0 {
			all = append(all, r)
		}
	}
	slices.SortStableFunc(all, func(a, b *Reading) int { return cmp.Compare(a.DepthM, b.DepthM) })
	return all
}

// place sets a mark for each probe, and moves labels down that would cover the one above.
func (x *drawing) place(probes []*Reading, y func(float64) float64, d unit.Display) {
	lastIn, lastOut, lastDepth := groundY-4.0, groundY-4.0, groundY-4.0
	for _, r := range probes {
		m := mark{dot: dot{139, y(r.DepthM)}, Text: "?", Depth: d.Length(r.DepthM)}
		if r.TemperatureC != nil {
			m.Text = d.Temperature(unit.Celsius(*r.TemperatureC))
		}
		if r.Quality != judge.Good.String() {
			m.Text += " (" + r.Quality + ")"
		}
		last := &lastIn
		m.TextX = m.X + 10
		side := m.Y + 5
		if x.PipeY > 0 && m.Y > x.PipeY-labelStep && m.Y < x.PipeY+labelStep {
			side = m.Y - 10 // over the pipes, not across them
		}
		if r.Place == judge.Undisturbed.String() {
			m.X, m.TextX, m.End, last = 350, 356, true, &lastOut
			side = m.Y - 10
		}
		m.TextY = max(side, *last+labelStep)
		m.DepthY = max(m.Y+5, lastDepth+labelStep)
		if *last = m.TextY; !m.End {
			lastDepth = m.DepthY
		}
		x.Marks = append(x.Marks, m)
		x.Height = max(x.Height, m.TextY+10, m.DepthY+10)
	}
	x.Soil = x.Height - groundY
}

// flow draws which way the heat goes now.
func (x *drawing) flow(s *Store, d unit.Display) {
	x.ArrowY = groundY + 6
	switch {
	case !s.Running:
		x.Heat = "fans off"
	case s.HeatW < 0:
		x.Arrow, x.Heat = "up", "about "+d.HeatRate(-s.HeatW)+" up"
	case s.HeatW > 0:
		x.Arrow, x.Heat = "down", "about "+d.HeatRate(s.HeatW)+" down"
	default:
		x.Heat = "fans on"
	}
}

// words tell the drawing to those who do not see it.
func (x *drawing) words() string {
	text := "House " + x.House
	if x.Outside != "" {
		text += ", outside " + x.Outside
	}
	for _, m := range x.Marks {
		where := ""
		if m.End {
			where = " outside the store"
		}
		text += ", soil at " + m.Depth + where + " " + m.Text
	}
	return text + "; " + x.Heat + "."
}
