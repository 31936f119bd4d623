package export

// baseline sends which fans stray from what they were commissioned with, and whether that is to be done
// again.
func (w *writer) baseline() {
	c := &w.s.Commissioned
	if c.Whole == nil {
		return
	}
	w.gauge(commissionDue, one(c.Due))
	for i := range w.s.Settings.House.Decide.Stores {
		store := &w.s.Settings.House.Decide.Stores[i]
		for j := range store.Fans {
			w.gauge(offBaseline, one(w.strays(store.Name, store.Fans[j].Name)), store.Name, store.Fans[j].Name)
		}
	}
}

func (w *writer) strays(store, fan string) bool {
	for _, c := range w.s.Commissioned.Strays {
		if c.Store == store && c.Fan == fan {
			return true
		}
	}
	return false
}
