package tune

import "slices"

// Point is a place in a Space: how many steps each knob is from today's settings.
type Point []int

// Box is the part of the lattice that may be searched, both ends included.
type Box struct{ Lo, Hi Point }

// Minimise walks from start to a point of the box whose neighbours are no better: a compass search
// (Hooke and Jeeves, "Direct search" solution of numerical and statistical problems, J. ACM 8, 1961;
// Kolda, Lewis and Torczon, Optimization by direct search, SIAM Review 45, 2003, section 1.3). Each
// round asks for the two neighbours along every axis at once, for cores to share, then for the point
// where the better ones of all axes meet; where nothing is better, steps are halved, down to 1. first
// is how far it looks at first along each axis, 1 or more.
//
// ask returns the scores of points, the lower the better; it may end the walk with an error. most is
// how many points may be asked for, start among them. With it spent, the best so far is returned.
func Minimise(start, first Point, box Box, most int, ask func([]Point) ([]float64, error)) (Point, error) {
	w := walk{box: box, ask: ask, left: most}
	here, step := box.clamp(start), slices.Clone(first)
	scores, err := w.scores([]Point{here})
	if err != nil || len(scores) == 0 {
		return here, err
	}
	score := scores[0]
	for w.left > 0 {
		next, better, err := w.round(here, step, score)
		switch {
		case err != nil:
			return here, err
		case better < score:
			here, score = next, better
		case !halve(step):
			return here, nil
		}
	}
	return here, nil
}

// walk is a search on its way.
type walk struct {
	box  Box
	ask  func([]Point) ([]float64, error)
	left int
}

// round looks around here and returns the best point found with its score.
func (w *walk) round(here, step Point, score float64) (best Point, bestScore float64, err error) {
	var around []Point
	for axis := range here {
		for _, way := range []int{-1, 1} {
			p := slices.Clone(here)
			p[axis] += way * step[axis]
			if p = w.box.clamp(p); !slices.Equal(p, here) {
				around = append(around, p)
			}
		}
	}
	scores, err := w.scores(around)
	if err != nil {
		return nil, 0, err
	}
	best, bestScore = here, score
	meet := slices.Clone(here)
	gain := make([]float64, len(here)) // of the better neighbour along each axis
	for i, s := range scores {
		if s < bestScore {
			best, bestScore = around[i], s
		}
		for axis := range here {
			if d := around[i][axis] - here[axis]; d != 0 && score-s > gain[axis] {
				gain[axis], meet[axis] = score-s, here[axis]+d
			}
		}
	}
	if slices.Equal(meet, here) || slices.Equal(meet, best) {
		return best, bestScore, nil
	}
	if scores, err = w.scores([]Point{meet}); err != nil {
		return nil, 0, err
	}
	if len(scores) == 1 && scores[0] < bestScore {
		return meet, scores[0], nil
	}
	return best, bestScore, nil
}

// scores asks for as many of the points as may still be asked for, the first ones.
func (w *walk) scores(points []Point) ([]float64, error) {
	points = points[:min(len(points), w.left)]
	w.left -= len(points)
	if len(points) == 0 {
		return nil, nil
	}
	return w.ask(points)
}

// halve halves the steps and reports whether any was more than 1.
func halve(step Point) (more bool) {
	for i, s := range step {
		more = more || s > 1
		step[i] = max(1, s/2)
	}
	return more
}

// clamp returns the nearest point of the box.
func (b Box) clamp(p Point) Point {
	p = slices.Clone(p)
	for i := range p {
		p[i] = max(b.Lo[i], min(b.Hi[i], p[i]))
	}
	return p
}
