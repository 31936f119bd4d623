package ground

import "math"

// modes is a section in few numbers: its slow ways of cooling, each with its own rate, and at once
// what all the faster ones add. In mode coordinates a, with u the heat that enters at each port,
//
//	da/dt = −rate a + shapeᵀ u,  temperature at a port = shape a + stiff u
//
// Where it comes from: the soil's answers to heat at its ports held from a quarter step to thirty
// years span a space (rational Krylov projection); in it, what the ports can neither stir nor feel
// is cut off (balanced truncation of a symmetric system; Antoulas 2005, Approximation of
// Large-Scale Dynamical Systems, ch. 7 and 11, from memory). Steady answers are kept exactly.
type modes struct {
	rate  []float64
	shape [][]float64 // of each port, by mode
	stiff square      // port by port, K m/W
	// cut is twice the sum of what was cut off: the most that the root mean square of an answer can
	// be wrong per W/m, K m/W, beside the full answer in the space.
	cut float64
	// fit turns node temperatures into mode coordinates: fit[m] · temperatures.
	fit [][]float64
}

// finest is what newModes cuts below, K m/W: at 50 W/m a tenth of a K at the very worst, a
// hundredth as measured over a year.
const finest = 2e-3

// newModes reduces a section for heat at ports, each a share of every node's, and steps of dtS.
func newModes(s *section, diagonal func(perS float64) []float64, ports [][]float64, dtS float64) modes {
	basis := krylov(s, diagonal, ports, dtS)
	// The stiffness in the basis, which is orthonormal by capacity, and its own ways.
	applied := make([][]float64, len(basis))
	for i, v := range basis {
		applied[i] = multiply(diagonal(0), s.link, v)
	}
	stiffness := newSquare(len(basis))
	for i := range basis {
		for j := range basis {
			stiffness[i][j] = (dot(basis[i], applied[j]) + dot(basis[j], applied[i])) / 2
		}
	}
	rate, turn := stiffness.eigen()
	basis = combine(turn, basis)

	// How strongly each way is stirred, and felt, by the ports.
	gram := newSquare(len(basis))
	reach := newSquare(len(basis))
	for i := range basis {
		reach[i] = make([]float64, len(ports))
		for p, port := range ports {
			reach[i][p] = dot(basis[i], port)
		}
	}
	for i := range gram {
		for j := range gram {
			gram[i][j] = dot(reach[i], reach[j]) / (rate[i] + rate[j])
		}
	}
	strength, turn := gram.eigen()
	keep := 0
	cut := 0.0
	for keep < len(strength)-1 && cut+2*max(0, strength[keep]) < finest {
		cut += 2 * max(0, strength[keep])
		keep++
	}
	m := modes{cut: cut}
	kept := newSquare(len(strength) - keep)
	for i := range kept {
		for j := range kept {
			for k := range rate {
				kept[i][j] += turn[keep+i][k] * rate[k] * turn[keep+j][k]
			}
		}
	}
	basis = combine(turn[keep:], basis)
	m.rate, turn = kept.eigen()
	m.finish(s, diagonal, ports, combine(turn, basis))
	return m
}

// finish finds what the ports do to the modes, and the stiff rest that keeps steady answers exact.
func (m *modes) finish(s *section, diagonal func(perS float64) []float64, ports, basis [][]float64) {
	for _, v := range basis {
		fit := make([]float64, len(v))
		for i := range v {
			fit[i] = v[i] * s.capJmK[i]
		}
		m.fit = append(m.fit, fit)
	}
	steady := newFactor(diagonal(0), s.link)
	m.stiff = newSquare(len(ports))
	for p, port := range ports {
		shape := make([]float64, len(basis))
		for i, v := range basis {
			shape[i] = dot(v, port)
		}
		m.shape = append(m.shape, shape)
		answer := append([]float64(nil), port...)
		steady.solve(answer, 1)
		for q, other := range ports {
			m.stiff[p][q] = dot(other, answer)
		}
	}
	for p := range ports {
		for q := range ports {
			for i, rate := range m.rate {
				m.stiff[p][q] -= m.shape[p][i] * m.shape[q][i] / rate
			}
		}
	}
}

// krylov returns vectors, orthonormal by capacity, that span the soil's answers to heat at the ports
// held for times from a quarter of a step to thirty years.
func krylov(s *section, diagonal func(perS float64) []float64, ports [][]float64, dtS float64) (basis [][]float64) {
	for holdS := dtS / 4; holdS < 1e9; holdS *= 3.5 {
		f := newFactor(diagonal(1/holdS), s.link)
		for _, port := range ports {
			v := append([]float64(nil), port...)
			f.solve(v, 1)
			whole := math.Sqrt(weighed(v, v, s.capJmK))
			for range 2 { // twice is enough to be orthogonal to rounding
				for _, b := range basis {
					part := weighed(v, b, s.capJmK)
					for i := range v {
						v[i] -= part * b[i]
					}
				}
			}
			size := math.Sqrt(weighed(v, v, s.capJmK))
			if whole == 0 || size < 1e-7*whole {
				continue
			}
			for i := range v {
				v[i] /= size
			}
			basis = append(basis, v)
		}
	}
	return basis
}

// dot adds up in four strands: one waits for each sum before it begins the next.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		x, y := (*[4]float64)(a), (*[4]float64)(b)
		s0 += x[0] * y[0]
		s1 += x[1] * y[1]
		s2 += x[2] * y[2]
		s3 += x[3] * y[3]
		a, b = a[4:], b[4:]
	}
	for i, x := range a {
		s0 += x * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}

func weighed(a, b, weight []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i] * weight[i]
	}
	return sum
}

// multiply returns the matrix of diag and −g at each link times v.
func multiply(diag []float64, links []link, v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = diag[i] * v[i]
	}
	for _, l := range links {
		out[l.i] -= l.g * v[l.j]
		out[l.j] -= l.g * v[l.i]
	}
	return out
}

// combine returns for each row of turn that sum of the vectors.
func combine(turn square, vectors [][]float64) [][]float64 {
	out := make([][]float64, len(turn))
	for i, row := range turn {
		out[i] = make([]float64, len(vectors[0]))
		for k, v := range vectors {
			for j := range v {
				out[i][j] += row[k] * v[j]
			}
		}
	}
	return out
}
