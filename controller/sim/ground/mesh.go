package ground

import "math"

// point is a place in a cross-section: x from the plane through the pipe's axis, z down from the
// surface, m.
type point struct{ x, z float64 }

// mesh divides half of one pipe's zone, from the plane through its axis to the plane midway to
// the next pipe, into four-cornered cells: rings round the pipe inside a square box, rectangles
// elsewhere. Corners are the nodes.
type mesh struct {
	at   []point
	cell []cell
	wall []int // nodes on the pipe
}

// cell is a part of a mesh. The first and last corners of one among the rings lie on its inner
// circle, the others on its outer one or on the box.
type cell struct {
	corner       [4]int // in order round it
	inner, outer float64
	angle        float64 // between its rays; 0: a rectangle
}

// shape is what a mesh is made for, m.
type shape struct {
	radius, pipeDepth, halfWidth, depth float64
	fineness                            int
}

// boxM is half the side of the square around the pipe that is filled with rings.
func (s shape) boxM() float64 {
	return min(0.75*s.pipeDepth, 0.75*s.halfWidth, 6*s.radius)
}

// newMesh sets spacings that grow away from where temperatures change fast: the pipe's wall and
// the surface. Spacings and growth are halved, nearly, as fineness doubles.
func newMesh(s shape) *mesh {
	f := float64(s.fineness)
	a := s.boxM()
	n := 3 * s.fineness
	across := []float64{0}
	for i := 1; i <= n; i++ {
		across = append(across, a*math.Tan(math.Pi/4*float64(i)/float64(n)))
	}
	last := across[n] - across[n-1]
	x := append(across, lines(a, s.halfWidth, last, 1+0.5/f, s.halfWidth)...)

	top := s.pipeDepth - a
	z := append([]float64{0}, lines(0, top, min(0.015/f, top/2), 1+0.4/f, max(last, 0.05/f))...)
	first := len(z) - 1 // the box's upper row
	for i := n - 1; i >= 0; i-- {
		z = append(z, s.pipeDepth-across[i])
	}
	for i := 1; i <= n; i++ {
		z = append(z, s.pipeDepth+across[i])
	}
	z = append(z, lines(s.pipeDepth+a, s.depth, last, 1+0.4/f, 0.8/f)...)

	m := &mesh{}
	at := m.rectangles(x, z, n, first)
	m.rings(s, at, n, first)
	return m
}

// lines divides from..to into spacings that start at first, grow by the factor growth and stay
// under most, all then scaled to fit. It returns the lines after from, to included.
func lines(from, to, first, growth, most float64) []float64 {
	span := to - from
	var steps []float64
	sum, h := 0.0, first
	for sum+h/2 < span {
		steps = append(steps, h)
		sum += h
		h = min(h*growth, most)
	}
	if len(steps) == 0 {
		return []float64{to}
	}
	var at []float64
	reached := 0.0
	for _, h := range steps {
		reached += h
		at = append(at, from+span*reached/sum)
	}
	at[len(at)-1] = to
	return at
}

// rectangles makes the nodes and cells outside the box, which fills columns 0 to n and rows first
// to first + 2n. It returns the node of each row and column.
func (m *mesh) rectangles(x, z []float64, n, first int) [][]int {
	at := make([][]int, len(z))
	inBox := func(row, col int) bool { return col < n && row > first && row < first+2*n }
	for r := range z {
		at[r] = make([]int, len(x))
		for c := range x {
			at[r][c] = -1
			if !inBox(r, c) {
				at[r][c] = m.add(point{x[c], z[r]})
			}
		}
	}
	for r := range len(z) - 1 {
		for c := range len(x) - 1 {
			if c < n && r >= first && r < first+2*n {
				continue
			}
			m.cell = append(m.cell, cell{corner: [4]int{at[r][c], at[r][c+1], at[r+1][c+1], at[r+1][c]}})
		}
	}
	return at
}

func (m *mesh) add(p point) int {
	m.at = append(m.at, p)
	return len(m.at) - 1
}

// rings fills the box: rays run from the pipe's wall to the nodes on the box's three sides, and
// circles cross them.
func (m *mesh) rings(s shape, at [][]int, n, first int) {
	var rim []int // from straight up over the side to straight down
	for c := range n {
		rim = append(rim, at[first][c])
	}
	for r := first; r < first+2*n; r++ {
		rim = append(rim, at[r][n])
	}
	for c := n; c >= 0; c-- {
		rim = append(rim, at[first+2*n][c])
	}
	f := float64(s.fineness)
	radii := append([]float64{s.radius},
		lines(s.radius, 0.85*s.boxM(), 0.15*s.radius/f, 1+0.35/f, s.boxM())...)
	ray := make([][]int, len(rim))
	for j, end := range rim {
		x, z := m.at[end].x, m.at[end].z-s.pipeDepth
		long := math.Hypot(x, z)
		for _, r := range radii {
			ray[j] = append(ray[j], m.add(point{x * r / long, s.pipeDepth + z*r/long}))
		}
		m.wall = append(m.wall, ray[j][0])
		ray[j] = append(ray[j], end)
	}
	for j := range len(ray) - 1 {
		for k := range len(radii) {
			c := cell{corner: [4]int{ray[j][k], ray[j][k+1], ray[j+1][k+1], ray[j+1][k]}, inner: radii[k]}
			c.angle = math.Pi / float64(len(ray)-1)
			if k < len(radii)-1 {
				c.outer = radii[k+1]
			}
			m.cell = append(m.cell, c)
		}
	}
}

// corners returns the share of a cell's area that is nearest each of its corners: bounded by the
// middles of its sides and its centre.
func (m *mesh) corners(c cell) (areaM2 [4]float64) {
	if c.outer > 0 {
		between := (c.inner + c.outer) / 2
		in := c.angle / 4 * (between*between - c.inner*c.inner)
		out := c.angle / 4 * (c.outer*c.outer - between*between)
		return [4]float64{in, out, out, in}
	}
	var p [4]point
	var centre point
	for i, n := range c.corner {
		p[i] = m.at[n]
		centre.x += p[i].x / 4
		centre.z += p[i].z / 4
	}
	for i := range p {
		after, before := middle(p[i], p[(i+1)%4]), middle(p[i], p[(i+3)%4])
		areaM2[i] = (math.Abs(cross(p[i], after, centre)) + math.Abs(cross(p[i], centre, before))) / 2
	}
	beyond := c.inner * c.inner / 2 * (c.angle - math.Sin(c.angle)) // between chord and circle
	areaM2[0] -= beyond / 2
	areaM2[3] -= beyond / 2
	return areaM2
}

// links returns a cell's conductances for a conductivity of 1 between its corners' numbers. In a
// ring they are those of a sector: angle/ln(outer/inner) outwards and the inverse round the pipe,
// each half at either side. Elsewhere k (T_i − T_j) (cot θ)/2 flows between two corners of a
// triangle, θ being the angle that faces their side, which is also what linear finite elements
// give (Zienkiewicz and Taylor, The Finite Element Method, from memory).
func (m *mesh) links(c cell) (all []link) {
	if c.outer > 0 {
		out := c.angle / math.Log(c.outer/c.inner)
		return []link{{0, 1, out / 2}, {3, 2, out / 2}, {0, 3, 1 / out / 2}, {1, 2, 1 / out / 2}}
	}
	for _, t := range m.triangles(c) {
		p := func(i int) point { return m.at[c.corner[t[i%3]]] }
		for i := range t {
			facing := angle(p(i+1), p(i), p(i+2))
			all = append(all, link{t[(i+1)%3], t[(i+2)%3], math.Cos(facing) / math.Sin(facing) / 2})
		}
	}
	return all
}

// triangles cuts a cell along the diagonal that lets no pair of facing angles pass 180°, which
// keeps heat flowing from warm to cold between any two nodes. It returns numbers of corners.
func (m *mesh) triangles(c cell) [2][3]int {
	p := func(i int) point { return m.at[c.corner[i]] }
	if angle(p(3), p(0), p(1))+angle(p(1), p(2), p(3)) > math.Pi+1e-9 {
		return [2][3]int{{0, 1, 2}, {0, 2, 3}}
	}
	return [2][3]int{{0, 1, 3}, {1, 2, 3}}
}

// cross is twice the area of the triangle abc, positive where it turns from x towards z.
func cross(a, b, c point) float64 {
	return (b.x-a.x)*(c.z-a.z) - (c.x-a.x)*(b.z-a.z)
}

func middle(a, b point) point { return point{(a.x + b.x) / 2, (a.z + b.z) / 2} }

// angle is the angle at b between a and c.
func angle(a, b, c point) float64 {
	dot := (a.x-b.x)*(c.x-b.x) + (a.z-b.z)*(c.z-b.z)
	return math.Atan2(math.Abs(cross(b, a, c)), dot)
}
