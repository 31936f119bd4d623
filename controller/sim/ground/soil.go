package ground

import (
	"loambank/config/unit"
	"loambank/controller/physics"
)

// soil is the store's soil: a section for each stretch along one pipe, and their temperatures.
// Heat enters it at the pipe's wall and at the surface, by amounts found from how both answer.
type soil struct {
	*section
	longM  []float64 // length of each stretch
	edge   Edge
	wave   physics.GroundWave
	inWm   []float64 // ground's pull on each node: of the swing's part in step, W/(m K)
	backWm []float64 // of the part a quarter year back
	// usualWm2K is the coefficient at the surface that is part of the matrix.
	usualWm2K float64
	tempC     []float64 // node by node, and for each its stretches
	free      []float64 // scratch
	ops       []*operator
}

// operator is what a step of one length needs.
type operator struct {
	dtS  float64
	f    *factor
	wall []float64 // each node's rise for 1 W/m at the pipe's wall held over the step, K m/W
	top  []float64 // the same for 1 W/m spread evenly over the surface
	answer
	along along
}

// port is how a stretch answers heat at its pipe during a step, with what the surface does then.
type port struct {
	stillC float64 // of the wall, with no heat at the pipe
	riseKW float64 // of the wall, for each W/m at the pipe, K m/W
	topW   float64 // into the surface besides usualWm2K's part, with no heat at the pipe, W/m
	topPer float64 // what that changes for each W/m at the pipe
}

// answer is the rise of wall and surface for heat at either, K m/W.
type answer struct{ wallWall, wallTop, topTop float64 }

// port closes the surface's balance: topW = width (radiation + h T_air − (h − usual) T_surface),
// where T_surface answers to topW and to the heat at the pipe.
func (a answer) port(wallC, topC, widthM, usualWm2K float64, in *Drive, radiationWm2 float64) port {
	more := (in.SurfaceWm2K - usualWm2K) * widthM
	share := 1 / (1 + more*a.topTop)
	drive := widthM * (radiationWm2 + in.SurfaceWm2K*float64(in.Air))
	p := port{topW: share * (drive - more*topC), topPer: -share * more * a.wallTop}
	p.stillC = wallC + a.wallTop*p.topW
	p.riseKW = a.wallWall + a.wallTop*p.topPer
	return p
}

func newSoil(sec *section, longM []float64, p *Params) *soil {
	s := &soil{section: sec, longM: longM, edge: p.Edge, wave: p.Ground, usualWm2K: p.SurfaceWm2K}
	n := len(sec.at)
	s.inWm, s.backWm = make([]float64, n), make([]float64, n)
	for i := range sec.at {
		a, b := shares(&p.Ground, s.groundDepth(i))
		g := sec.sideWmK[i] + sec.baseWmK[i]
		s.inWm[i], s.backWm[i] = g*a, g*b
	}
	s.tempC = make([]float64, n*len(longM))
	s.free = make([]float64, n*len(longM))
	return s
}

// groundDepth is how deep the undisturbed ground lies that node i touches.
func (s *soil) groundDepth(i int) float64 {
	if s.baseWmK[i] > 0 {
		return s.depthM + baseM
	}
	return s.at[i].z
}

// operatorsKept is enough for a usual step and some odd ones.
const operatorsKept = 4

func (s *soil) operator(dtS float64) *operator {
	for _, op := range s.ops {
		if op.dtS == dtS {
			return op
		}
	}
	if len(s.ops) >= operatorsKept {
		s.ops = s.ops[1:]
	}
	op := s.newOperator(dtS)
	s.ops = append(s.ops, op)
	return op
}

func (s *soil) newOperator(dtS float64) *operator {
	n := len(s.at)
	op := &operator{dtS: dtS, f: newFactor(s.diagonal(1/dtS), s.link)}
	op.wall, op.top = make([]float64, n), make([]float64, n)
	op.wall[s.wall] = 1
	for i, width := range s.topM {
		op.top[i] = width / s.widthM
	}
	op.f.solve(op.wall, 1)
	op.f.solve(op.top, 1)
	op.wallWall, op.wallTop = op.wall[s.wall], op.top[s.wall]
	op.topTop = s.surface(op.top, 0, 1)
	op.along = s.newAlong(dtS)
	return op
}

// diagonal is the matrix's, with perS of each capacity.
func (s *soil) diagonal(perS float64) []float64 {
	diag := make([]float64, len(s.at))
	for i := range diag {
		diag[i] = s.capJmK[i]*perS + s.sideWmK[i] + s.baseWmK[i] + s.usualWm2K*s.topM[i]
	}
	for _, l := range s.link {
		diag[l.i] += l.g
		diag[l.j] += l.g
	}
	return diag
}

// surface is the mean over the surface of stretch at of many.
func (s *soil) surface(x []float64, at, many int) float64 {
	var sum float64
	for i, width := range s.topM {
		if width > 0 {
			sum += width * x[i*many+at]
		}
	}
	return sum / s.widthM
}

// release lets heat spread for a step with none coming in at the pipe and the surface. finish
// must follow.
func (s *soil) release(op *operator, day float64) {
	many := len(s.longM)
	in, back := swing(&s.wave, day)
	for i := range s.at {
		pull := (s.sideWmK[i]+s.baseWmK[i])*float64(s.wave.Mean) + s.inWm[i]*in + s.backWm[i]*back
		perS := s.capJmK[i] / op.dtS
		for k := i * many; k < (i+1)*many; k++ {
			s.free[k] = perS*s.tempC[k] + pull
		}
	}
	op.f.solve(s.free, many)
}

func (s *soil) port(op *operator, at int, in *Drive, radiationWm2 float64) port {
	many := len(s.longM)
	return op.answer.port(s.free[s.wall*many+at], s.surface(s.free, at, many), s.widthM, s.usualWm2K, in, radiationWm2)
}

// gains is heat into the soil of all stretches, each J, of one pipe's zone.
type gains struct{ surfaceJ, edgeJ, baseJ, storedJ float64 }

// finish adds the heat that came in during the step: wallW and topW per metre of each stretch,
// topW besides what usualWm2K gives.
func (s *soil) finish(op *operator, day float64, wallW, topW []float64) gains {
	var g gains
	many := len(s.longM)
	for i := range s.at {
		for k := range many {
			s.free[i*many+k] += op.wall[i]*wallW[k] + op.top[i]*topW[k]
		}
	}
	for k, long := range s.longM {
		held := s.usualWm2K * s.widthM * s.surface(s.free, k, many)
		g.surfaceJ += long * op.dtS * (topW[k] - held)
	}
	in, back := swing(&s.wave, day)
	for i := range s.at {
		if s.sideWmK[i] == 0 && s.baseWmK[i] == 0 {
			continue
		}
		a, b := shares(&s.wave, s.groundDepth(i))
		undisturbed := float64(s.wave.Mean) + a*in + b*back
		for k, long := range s.longM {
			by := long * op.dtS * (undisturbed - s.free[i*many+k])
			g.edgeJ += s.sideWmK[i] * by
			g.baseJ += s.baseWmK[i] * by
		}
	}
	g.edgeJ += s.spreadAlong(op, day)
	for i, c := range s.capJmK {
		for k, long := range s.longM {
			g.storedJ += c * long * (s.free[i*many+k] - s.tempC[i*many+k])
		}
	}
	s.tempC, s.free = s.free, s.tempC
	return g
}

// wallC is the pipe's wall in stretch at.
func (s *soil) wallC(at int) float64 { return s.tempC[s.wall*len(s.longM)+at] }

// fill sets the soil to a temperature for each depth.
func (s *soil) fill(at func(depthM float64) unit.Celsius) {
	many := len(s.longM)
	for i, p := range s.at {
		for k := range many {
			s.tempC[i*many+k] = float64(at(p.z))
		}
	}
}

// heatJ is what a pipe's zone holds above 0 °C.
func (s *soil) heatJ() float64 {
	var sum float64
	many := len(s.longM)
	for i, c := range s.capJmK {
		for k, long := range s.longM {
			sum += c * long * s.tempC[i*many+k]
		}
	}
	return sum
}

// along is the factors of a step of the heat along the pipe, node by node, for each stretch:
// Thomas's algorithm.
type along struct {
	carry []float64 // to the next stretch
	inv   []float64 // one over the pivot
	still bool      // one stretch and closed ends: nothing flows
}

func (s *soil) newAlong(dtS float64) along {
	many := len(s.longM)
	a := along{still: many == 1 && s.edge.ReachM == 0}
	if a.still {
		return a
	}
	a.carry, a.inv = make([]float64, len(s.at)*many), make([]float64, len(s.at)*many)
	for i := range s.at {
		before := 0.0
		for k, long := range s.longM {
			up, down := s.linkAlong(i, k-1), s.linkAlong(i, k)
			diag := s.capJmK[i]*long/dtS + up + down
			if k > 0 {
				diag -= up * before
			}
			inv := 1 / diag
			before = down * inv
			a.inv[i*many+k], a.carry[i*many+k] = inv, before
		}
	}
	return a
}

// linkAlong is the conductance of node i from stretch k to the next, W/K; -1 and the last lead to
// undisturbed ground.
func (s *soil) linkAlong(i, k int) float64 {
	last := len(s.longM) - 1
	switch {
	case k >= 0 && k < last:
		return s.alongWm[i] / ((s.longM[k] + s.longM[k+1]) / 2)
	case s.edge.ReachM == 0:
		return 0
	}
	end := s.longM[max(k, 0)]
	return s.areaM2[i] / s.edge.resistance(s.alongWm[i]/s.areaM2[i], s.at[i].z, end/2)
}

// spreadAlong lets heat flow along the pipe for a step, after that across it, and returns what
// came in through the ends, J. The split costs accuracy of the order of the step over the weeks
// that heat takes from one stretch to the next.
func (s *soil) spreadAlong(op *operator, day float64) (endsJ float64) {
	if op.along.still {
		return 0
	}
	many := len(s.longM)
	in, back := swing(&s.wave, day)
	ends := s.edge.ReachM > 0
	for i := range s.at {
		x := s.free[i*many : (i+1)*many]
		carry, inv := op.along.carry[i*many:(i+1)*many], op.along.inv[i*many:(i+1)*many]
		var firstW, lastW, undisturbed float64
		if ends {
			a, b := shares(&s.wave, s.at[i].z)
			undisturbed = float64(s.wave.Mean) + a*in + b*back
			firstW, lastW = s.linkAlong(i, -1), s.linkAlong(i, many-1)
		}
		perS := s.capJmK[i] / op.dtS
		before, up := 0.0, 0.0
		for k, long := range s.longM {
			right := perS * long * x[k]
			if k == 0 {
				right += firstW * undisturbed
			}
			if k == many-1 {
				right += lastW * undisturbed
			}
			before = (right + up*before) * inv[k]
			x[k] = before
			if k < many-1 {
				up = s.linkAlong(i, k)
			}
		}
		for k := many - 2; k >= 0; k-- {
			x[k] += carry[k] * x[k+1]
		}
		if ends {
			endsJ += op.dtS * (firstW*(undisturbed-x[0]) + lastW*(undisturbed-x[many-1]))
		}
	}
	return endsJ
}
