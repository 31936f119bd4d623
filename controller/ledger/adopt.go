package ledger

import (
	"slices"

	"loambank/controller/decide"
)

// Adopt returns the account that goes on from old under these settings, which may have changed.
// Stores and fans stand in the settings' order, found by name; a new one begins at zero. One that
// is gone stands behind them, after the first len(s.Stores) stores or len(store.Fans) fans, and
// goes on from there should it return: no counter falls. Probes stand as they did until Watch. A nil old is an empty account. The result
// shares nothing with old.
func Adopt(old *House, name string, s *decide.Settings) *House {
	h := New(name, s)
	if old == nil {
		return h
	}
	was := old.Clone()
	h.Probes, h.Saved = was.Probes, was.Saved
	h.ElectricityMoney, h.FuelMoney, h.StateS = was.ElectricityMoney, was.FuelMoney, was.StateS
	fresh := h.Stores
	h.Stores = adopt(fresh, was.Stores, storeName)
	for i := range fresh {
		h.Stores[i].Fans = adopt(fresh[i].Fans, h.Stores[i].Fans, fanName)
	}
	return h
}

func storeName(s Store) string { return s.Name }
func fanName(f Fan) string     { return f.Name }

// adopt returns fresh with each account that was before in the place of its name, and those
// without a place behind.
func adopt[A any](fresh, before []A, name func(A) string) []A {
	all := slices.Clone(fresh)
	for _, a := range before {
		at := slices.IndexFunc(fresh, func(f A) bool { return name(f) == name(a) })
		if at >= 0 {
			all[at] = a
		} else {
			all = append(all, a)
		}
	}
	return all
}
