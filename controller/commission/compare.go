package commission

import "math"

// strayShare is how far a fan may be off its baseline, and strayS how long it runs so before it is
// warned of, s.
const (
	strayShare = 0.20
	strayS     = 3600
	smoothS    = 600 // time constant over which a meter's reading is averaged, s
)

// Measure is what strays. The zero value is power.
type Measure uint8

// The closed list of what is held against a baseline.
const (
	Power   Measure = iota // of one speed of a fan, W
	Airflow                // of all fans of the store at full speed, m³/s
)

// String is the measure's word.
func (m Measure) String() string {
	if m == Airflow {
		return "airflow"
	}
	return "power"
}

// Comparison is what a fan did at its baseline and does now.
type Comparison struct {
	Store   string
	Fan     string // empty is all fans of the store together
	What    Measure
	Was, Is float64 // in the unit of What; Was is over 0
}

// Watch holds what runs against a baseline. It is plain data that survives JSON; the zero value has
// seen nothing.
type Watch struct {
	Fans []Watched `json:"fans,omitempty"`
}

// Watched is one fan under watch.
type Watched struct {
	Store string  `json:"store"`
	Fan   string  `json:"fan"`
	Stage uint8   `json:"stage"`   // that PowerW is of; 0 is none yet
	W     float64 `json:"power_w"` // smoothed
	// PowerS and FlowS are how long it has run off its baseline without a break in which it ran well, s.
	PowerS float64 `json:"power_s"`
	FlowS  float64 `json:"flow_s"`
}

// Update takes in what ran for the last dtS seconds and returns the watch after it. A fan that rests, a
// meter that is lost and a flow that is not learned change nothing of what is known. w is not changed.
func (w Watch) Update(b *Baseline, l *Look, dtS float64) (next Watch) {
	if !(dtS > 0) || math.IsInf(dtS, 0) {
		dtS = 0
	}
	for i := range l.Stores {
		store := &l.Stores[i]
		flow, hasFlow := b.flowStrays(store)
		for j := range store.Fans {
			fan := &store.Fans[j]
			x := w.of(store.Name, fan.Name)
			if fan.Stage > 0 && fan.Obeys {
				x.power(b, fan, dtS)
				if hasFlow {
					x.FlowS = lasts(x.FlowS, flow, dtS)
				}
			}
			next.Fans = append(next.Fans, x)
		}
	}
	return next
}

// of is what is known of a fan.
func (w *Watch) of(store, fan string) Watched {
	for i := range w.Fans {
		if x := w.Fans[i]; x.Store == store && x.Fan == fan {
			return x
		}
	}
	return Watched{Store: store, Fan: fan}
}

// power takes in what the fan draws at its speed.
func (x *Watched) power(b *Baseline, fan *FanLook, dtS float64) {
	was := b.power(x.Store, fan.Name, fan.Stage)
	if fan.PowerW == nil || was == nil {
		return
	}
	if x.Stage != fan.Stage {
		x.Stage, x.W = fan.Stage, *fan.PowerW
	}
	x.W += (*fan.PowerW - x.W) * min(1, dtS/smoothS)
	x.PowerS = lasts(x.PowerS, strays(*was, x.W), dtS)
}

// lasts is how long something has lasted.
func lasts(forS float64, is bool, dtS float64) float64 {
	if !is {
		return 0
	}
	return min(forS+dtS, strayS)
}

// strays reports whether a value is off what it was by a fifth or more, but for what a sum of floats
// may have lost.
func strays(was, is float64) bool {
	return was > 0 && math.Abs(is-was) >= strayShare*was*(1-1e-9)
}

// power is what a speed of a fan drew, nil where nobody measured it.
func (b *Baseline) power(store, fan string, stage uint8) *float64 {
	for i := range b.Fans {
		if f := &b.Fans[i]; f.Store == store && f.Fan == fan && f.Stage == stage {
			return f.PowerW
		}
	}
	return nil
}

// flow is what a store's fans moved together at full speed: as it was learned by then, else by
// anemometer where the store has one fan. Several fans on common pipes move less together than the sum
// of each alone.
func (b *Baseline) flow(store *StoreLook) (f Flow, known bool) {
	for i := range b.Stores {
		if s := &b.Stores[i]; s.Store == store.Name && s.Learned.known() {
			return s.Learned, true
		}
	}
	if len(store.Fans) != 1 {
		return Flow{}, false
	}
	for i := range b.Fans {
		if r := &b.Fans[i]; r.Store == store.Name && r.Fan == store.Fans[0].Name && r.Full && r.FlowM3s != nil {
			return Flow{M3s: *r.FlowM3s}, true
		}
	}
	return Flow{}, false
}

// flowStrays reports whether the airflow of a store is off its baseline by more than both are known to,
// and whether that can be told.
func (b *Baseline) flowStrays(store *StoreLook) (is, known bool) {
	was, measured := b.flow(store)
	if !measured || store.Learned == nil || !store.Learned.known() {
		return false, false
	}
	now := *store.Learned
	return strays(was.M3s, now.M3s) && math.Abs(now.M3s-was.M3s) > 2*math.Hypot(was.SE, now.SE), true
}

// Strays are the fans that have run off their baseline for an hour.
func (w *Watch) Strays(b *Baseline, l *Look) (all []Comparison) {
	for i := range l.Stores {
		store := &l.Stores[i]
		for j := range store.Fans {
			x := w.of(store.Name, store.Fans[j].Name)
			if was := b.power(x.Store, x.Fan, x.Stage); x.PowerS >= strayS && was != nil {
				all = append(all, Comparison{x.Store, x.Fan, Power, *was, x.W})
			}
			if was, known := b.flow(store); x.FlowS >= strayS && known && store.Learned != nil {
				all = append(all, Comparison{x.Store, x.Fan, Airflow, was.M3s, store.Learned.M3s})
			}
		}
	}
	return all
}

// Compare holds a house as it is now against a baseline: the power of the fans that run at a speed that
// was measured, and the airflow of the stores whose airflow is learned.
func Compare(b *Baseline, l *Look) (all []Comparison) {
	for i := range l.Stores {
		store := &l.Stores[i]
		for j := range store.Fans {
			f := &store.Fans[j]
			if was := b.power(store.Name, f.Name, f.Stage); f.PowerW != nil && was != nil && *was > 0 {
				all = append(all, Comparison{store.Name, f.Name, Power, *was, *f.PowerW})
			}
		}
		if was, known := b.flow(store); known && was.M3s > 0 && store.Learned != nil && store.Learned.known() {
			all = append(all, Comparison{store.Name, "", Airflow, was.M3s, store.Learned.M3s})
		}
	}
	return all
}
