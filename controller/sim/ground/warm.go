package ground

// Warm puts heat, J, into the soil at the pipes' walls at once, as much on each metre of pipe; less
// than none takes it.
func (r *Reduced) Warm(heatJ float64) {
	each := heatJ / float64(r.p.Pipes.Count)
	perM := each / r.p.Pipes.LengthM
	for i := range r.whole {
		r.whole[i] += r.m.shape[wallPort][i] * perM
	}
	r.heatJ += each
}
