package ground

import (
	"math"
	"slices"
)

// section is half a pipe's zone as a network, doubled to the whole zone and counted per metre of
// pipe: heat capacities at nodes, conductances between them, to the air and to the ground.
//
// Each node stands for the soil nearest it. What leaves one node enters another, so heat is kept.
type section struct {
	at      []point   // of each node; the wall's is the pipe's axis
	capJmK  []float64 // heat capacity, J/(m K)
	areaM2  []float64 // cross-section that the node stands for
	alongWm []float64 // conductivity × area, for heat along the pipe, W m/K
	link    []link    // sorted by i, then j; i > j
	topM    []float64 // width of surface that the node stands for; 0 below the surface
	sideWmK []float64 // to undisturbed ground beside the store, W/(m K)
	baseWmK []float64 // to undisturbed ground below, W/(m K)
	wall    int
	radiusM float64
	widthM  float64
	depthM  float64
	// triangles with their nodes, to read temperatures between nodes.
	corner [][3]int
	place  [][3]point
}

// link is the conductance between two nodes, W/(m K).
type link struct {
	i, j int
	g    float64
}

func newSection(p *Params) *section {
	m := newMesh(p.shape())
	node, n := m.merge()
	s := &section{
		at: make([]point, n), capJmK: make([]float64, n), areaM2: make([]float64, n),
		alongWm: make([]float64, n), topM: make([]float64, n), sideWmK: make([]float64, n),
		baseWmK: make([]float64, n), widthM: p.Pipes.SpacingM, depthM: p.DepthM, radiusM: p.Pipes.DiameterM / 2,
	}
	for i, at := range m.at {
		s.at[node[i]] = at
	}
	s.wall = node[m.wall[0]]
	s.at[s.wall] = point{0, p.Pipes.DepthM}
	for _, c := range m.cell {
		s.fill(m, c, node, p)
	}
	s.join()
	s.bound(m, node, p)
	s.renumber()
	return s
}

// merge makes one node of all on the pipe's wall, which is taken as equally warm all round. It
// returns the node of each corner of the mesh, and how many there are.
func (m *mesh) merge() (node []int, n int) {
	node = make([]int, len(m.at))
	for i := range node {
		if !slices.Contains(m.wall[1:], i) {
			node[i] = n
			n++
		}
	}
	for _, i := range m.wall[1:] {
		node[i] = node[m.wall[0]]
	}
	return node, n
}

// fill adds a cell's capacity and conductances, twice: the other half mirrors this one.
func (s *section) fill(m *mesh, c cell, node []int, p *Params) {
	const halves = 2
	top, bottom := m.at[c.corner[0]].z, m.at[c.corner[0]].z
	for _, i := range c.corner {
		top, bottom = min(top, m.at[i].z), max(bottom, m.at[i].z)
	}
	k, capacity := p.soil(top, bottom)
	for i, area := range m.corners(c) {
		at := node[c.corner[i]]
		s.areaM2[at] += halves * area
		s.capJmK[at] += halves * area * capacity
		s.alongWm[at] += halves * area * k
	}
	for _, l := range m.links(c) {
		if a, b := node[c.corner[l.i]], node[c.corner[l.j]]; a != b {
			s.link = append(s.link, link{max(a, b), min(a, b), halves * k * l.g})
		}
	}
	for _, t := range m.triangles(c) {
		var place [3]point
		var corner [3]int
		for i := range t {
			place[i], corner[i] = m.at[c.corner[t[i]]], node[c.corner[t[i]]]
		}
		s.place, s.corner = append(s.place, place), append(s.corner, corner)
	}
}

// join adds up the conductances of each pair.
func (s *section) join() {
	slices.SortFunc(s.link, func(a, b link) int {
		if a.i != b.i {
			return a.i - b.i
		}
		return a.j - b.j
	})
	kept := s.link[:0]
	for _, l := range s.link {
		if n := len(kept); n > 0 && kept[n-1].i == l.i && kept[n-1].j == l.j {
			kept[n-1].g += l.g
			continue
		}
		kept = append(kept, l)
	}
	// Diagonals of rectangles carry nothing.
	s.link = slices.DeleteFunc(kept, func(l link) bool { return math.Abs(l.g) < 1e-12 })
}

// bound gives the nodes on the surface their width and those at bottom and side their
// conductance to the ground.
func (s *section) bound(m *mesh, node []int, p *Params) {
	for _, c := range m.cell {
		for i, from := range c.corner {
			to := c.corner[(i+1)%4]
			s.boundSide(m.at[from], m.at[to], [2]int{node[from], node[to]}, p)
		}
	}
}

// boundSide shares one side of a cell between its ends. Heat through the store's sides is shared by
// all pipes.
func (s *section) boundSide(a, b point, ends [2]int, p *Params) {
	const halves = 2
	half := p.Pipes.SpacingM / 2
	across, down := math.Abs(a.x-b.x), math.Abs(a.z-b.z)
	k, _ := p.soil(min(a.z, b.z), max(a.z, b.z))
	for _, at := range ends {
		switch {
		case a.z == 0 && b.z == 0:
			s.topM[at] += halves * across / 2
		case a.z == p.DepthM && b.z == p.DepthM:
			s.baseWmK[at] += halves * across / 2 * k / baseM
		case a.x == half && b.x == half && p.Edge.ReachM > 0:
			sides := 2 / float64(p.Pipes.Count)
			s.sideWmK[at] += sides * down / 2 / p.Edge.resistance(k, (a.z+b.z)/2, 0)
		}
	}
}

// baseM is the soil between the lowest nodes and the ground's own temperature. It is thin, so
// that DepthM is where the store ends.
const baseM = 0.05

// renumber orders the nodes so that neighbours have near numbers (Cuthill and McKee 1969,
// reversed), which keeps the factors narrow.
func (s *section) renumber() {
	n := len(s.at)
	near := make([][]int, n)
	for _, l := range s.link {
		near[l.i] = append(near[l.i], l.j)
		near[l.j] = append(near[l.j], l.i)
	}
	start := 0
	for i, p := range s.at {
		if p.z > s.at[start].z || p.z == s.at[start].z && p.x < s.at[start].x {
			start = i
		}
	}
	order, seen := []int{start}, make([]bool, n)
	seen[start] = true
	for k := 0; k < len(order); k++ {
		next := slices.DeleteFunc(slices.Clone(near[order[k]]), func(i int) bool { return seen[i] })
		slices.SortStableFunc(next, func(a, b int) int { return len(near[a]) - len(near[b]) })
		for _, i := range next {
			seen[i] = true
		}
		order = append(order, next...)
	}
	slices.Reverse(order)
	s.reorder(order)
}

// reorder makes node order[i] node i.
func (s *section) reorder(order []int) {
	to := make([]int, len(order))
	for i, old := range order {
		to[old] = i
	}
	for _, list := range []*[]float64{&s.capJmK, &s.areaM2, &s.alongWm, &s.topM, &s.sideWmK, &s.baseWmK} {
		moved := make([]float64, len(order))
		for i, old := range order {
			moved[i] = (*list)[old]
		}
		*list = moved
	}
	at := make([]point, len(order))
	for i, old := range order {
		at[i] = s.at[old]
	}
	s.at, s.wall = at, to[s.wall]
	for i, l := range s.link {
		a, b := to[l.i], to[l.j]
		s.link[i] = link{max(a, b), min(a, b), l.g}
	}
	s.join()
	for i := range s.corner {
		for j := range s.corner[i] {
			s.corner[i][j] = to[s.corner[i][j]]
		}
	}
}
