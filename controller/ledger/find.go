package ledger

import "slices"

// Probe is the account of one probe.
type Probe struct {
	Name   string
	Errors int64 // ticks in which it gave no reading
}

// Watch puts the probes of these names first, in their order, each with what was counted of it
// before. One that is gone stands behind and goes on from there should it return.
func (h *House) Watch(names []string) {
	fresh := make([]Probe, len(names))
	for i, name := range names {
		fresh[i].Name = name
	}
	h.Probes = adopt(fresh, h.Probes, func(p Probe) string { return p.Name })
}

// Store returns the account of the named store, or nil.
func (h *House) Store(name string) *Store {
	return find(h.Stores, func(s *Store) bool { return s.Name == name })
}

// Fan returns the account of the named fan, or nil.
func (s *Store) Fan(name string) *Fan {
	return find(s.Fans, func(f *Fan) bool { return f.Name == name })
}

// Probe returns the account of the named probe, or nil.
func (h *House) Probe(name string) *Probe {
	return find(h.Probes, func(p *Probe) bool { return p.Name == name })
}

func find[A any](all []A, is func(*A) bool) *A {
	i := slices.IndexFunc(all, func(a A) bool { return is(&a) })
	if i < 0 {
		return nil
	}
	return &all[i]
}
