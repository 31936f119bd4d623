package ground

// factor is a symmetric positive matrix split into L D Lᵀ. Row i of L is kept from its first
// entry that is not zero.
type factor struct {
	first []int
	start []int // of row i in lower
	lower []float64
	inv   []float64 // 1/D
}

// newFactor splits the matrix with diagonal diag and −g at each link.
func newFactor(diag []float64, links []link) *factor {
	n := len(diag)
	f := &factor{first: make([]int, n), start: make([]int, n), inv: make([]float64, n)}
	for i := range f.first {
		f.first[i] = i
	}
	for _, l := range links {
		f.first[l.i] = min(f.first[l.i], l.j)
	}
	size := 0
	for i := range n {
		f.start[i] = size
		size += i - f.first[i]
	}
	f.lower = make([]float64, size)
	for _, l := range links {
		f.lower[f.start[l.i]+l.j-f.first[l.i]] = -l.g
	}
	for i := range n {
		f.eliminate(i, diag[i])
	}
	return f
}

// eliminate turns row i of the matrix into row i of L and finds its pivot.
func (f *factor) eliminate(i int, diag float64) {
	from := f.first[i]
	row := f.lower[f.start[i] : f.start[i]+i-from]
	for j := from; j < i; j++ {
		low := max(from, f.first[j])
		above := f.lower[f.start[j] : f.start[j]+j-f.first[j]]
		sum := row[j-from]
		for k := low; k < j; k++ {
			sum -= row[k-from] * above[k-f.first[j]]
		}
		row[j-from] = sum
	}
	for j := from; j < i; j++ {
		u := row[j-from]
		row[j-from] = u * f.inv[j]
		diag -= u * row[j-from]
	}
	f.inv[i] = 1 / diag
}

// solve turns each of the many right sides in x into its solution. Entry i of side s is
// x[i*many+s].
func (f *factor) solve(x []float64, many int) {
	for i := range f.inv {
		xi := x[i*many : (i+1)*many]
		row := f.lower[f.start[i] : f.start[i]+i-f.first[i]]
		for k, l := range row {
			j := f.first[i] + k
			xj := x[j*many : j*many+len(xi)]
			for s := range xi {
				xi[s] -= l * xj[s]
			}
		}
	}
	for i, inv := range f.inv {
		for s := i * many; s < (i+1)*many; s++ {
			x[s] *= inv
		}
	}
	f.back(x, many)
}

// back solves with Lᵀ.
func (f *factor) back(x []float64, many int) {
	for i := len(f.inv) - 1; i >= 0; i-- {
		xi := x[i*many : (i+1)*many]
		row := f.lower[f.start[i] : f.start[i]+i-f.first[i]]
		for k, l := range row {
			j := f.first[i] + k
			xj := x[j*many : j*many+len(xi)]
			for s := range xi {
				xj[s] -= l * xi[s]
			}
		}
	}
}
