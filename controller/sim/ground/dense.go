package ground

import (
	"math"
	"slices"
)

// square is a small symmetric matrix by rows.
type square [][]float64

func newSquare(n int) square {
	m := make(square, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}

// eigen returns the eigenvalues of m, smallest first, and with each its vector: Jacobi's rotations
// (Golub and Van Loan, Matrix Computations, sec. 8.5, from memory). m is used up.
func (m square) eigen() (values []float64, vectors square) {
	n := len(m)
	vectors = newSquare(n) // by rows
	for i := range vectors {
		vectors[i][i] = 1
	}
	for range 60 {
		off, all := 0.0, 0.0
		for i := range n {
			for j := range n {
				all += m[i][j] * m[i][j]
				if i != j {
					off += m[i][j] * m[i][j]
				}
			}
		}
		if off <= 1e-28*all {
			break
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				m.rotate(vectors, p, q)
			}
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if m[a][a] < m[b][b] {
			return -1
		}
		return 1
	})
	sorted := make(square, n)
	for i, from := range order {
		values, sorted[i] = append(values, m[from][from]), vectors[from]
	}
	return values, sorted
}

// rotate makes m[p][q] zero.
func (m square) rotate(vectors square, p, q int) {
	if m[p][q] == 0 {
		return
	}
	theta := (m[q][q] - m[p][p]) / (2 * m[p][q])
	t := 1 / (math.Abs(theta) + math.Sqrt(theta*theta+1))
	if theta < 0 {
		t = -t
	}
	c := 1 / math.Sqrt(t*t+1)
	s := t * c
	for k := range m {
		a, b := m[k][p], m[k][q]
		m[k][p], m[k][q] = c*a-s*b, s*a+c*b
	}
	for k := range m {
		a, b := m[p][k], m[q][k]
		m[p][k], m[q][k] = c*a-s*b, s*a+c*b
		a, b = vectors[p][k], vectors[q][k]
		vectors[p][k], vectors[q][k] = c*a-s*b, s*a+c*b
	}
}
