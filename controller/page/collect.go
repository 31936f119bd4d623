package page

import (
	"math"
	"time"

	"loambank/config"
	"loambank/controller"
	"loambank/controller/decide"
	"loambank/controller/judge"
)

// leastLate is how old a tick may be at least before there is no contact: a board that is busy for
// a moment is no reason to get up.
const leastLate = 10 * time.Second

// collect gathers the farm with some of its houses.
func (s *site) collect(v *controller.View, houses []controller.Shown) *Farm {
	now, set := s.o.Now(), s.settings()
	f := &Farm{
		Schema: 1, Time: now, Bell: v.Sounds(), Warnings: farmWarnings(v),
		Houses: make([]House, 0, len(houses)), Waiting: append([]string{}, v.Waiting...),
	}
	var wanted []string
	for i := range houses {
		wanted = append(wanted, houses[i].Settings.House.Name)
	}
	if len(houses) > 0 {
		f.Time = now.In(zoneOf(houses[0].Snapshot))
		s.past.refresh(wanted, starts(houses[0].Snapshot, set.Turn))
	}
	for i := range houses {
		f.Houses = append(f.Houses, s.houseOf(houses[i].Snapshot, set, now))
	}
	return f
}

func zoneOf(s *controller.Snapshot) *time.Location {
	if z := s.Settings.House.Decide.Season.Site.Zone; z != nil {
		return z
	}
	return time.UTC
}

func (s *site) houseOf(snap *controller.Snapshot, set *config.Settings, now time.Time) House {
	zone := zoneOf(snap)
	late := max(3*snap.Tick, leastLate)
	h := House{
		Name: snap.Settings.House.Name, Time: snap.Time.In(zone), Sentence: snap.Sentence,
		AgeS: rounded(max(0, now.Sub(snap.Ticked).Seconds()), 10), LateS: late.Seconds(),
		NoContact: now.Sub(snap.Ticked) > late,
		CropC:     temperature(snap.Inputs.CropAir), OutsideC: temperature(snap.Inputs.Outside),
		Readings: readings(snap), Stores: stores(snap),
		style: style{set.Display, zone},
	}
	if w := int(snap.Decision.Window); w >= 0 && w < len(snap.Settings.Windows) {
		h.Window = snap.Settings.Windows[w]
	}
	if in := snap.Inputs.Humidity; in.Quality.Usable() {
		h.HumidityRatio = known(in.V)
	}
	if low := snap.State.Low; low.Known && low.Since != 0 {
		at := time.Unix(low.Unix, 0).In(zone)
		h.LowestC, h.LowestAt = known(float64(low.C)), &at
	}
	if p := policyOf(snap); p != nil {
		h.SetpointC = rounded(float64(p.Setpoint), 1000)
		if p.Crop {
			h.FrostC = known(float64(p.Frost))
		}
	}
	s.learned(&h)
	s.accounts(&h, snap, set.Turn)
	h.Warnings = houseWarnings(snap, &h)
	return h
}

// policyOf is what the house asked for when it decided; nil where it has none.
func policyOf(s *controller.Snapshot) *decide.Policy {
	i := int(s.Decision.Window) + 1
	if all := s.Settings.House.Decide.Policies; i >= 0 && i < len(all) {
		return &all[i]
	}
	return nil
}

func (s *site) learned(h *House) {
	if s.o.Learned == nil {
		return
	}
	l := s.o.Learned(h.Name)
	if l == nil {
		return
	}
	h.Tonight = l.Tonight
	for i := range min(len(h.Stores), len(l.Stores)) {
		from, to := &l.Stores[i], &h.Stores[i]
		if !from.Known {
			continue
		}
		to.FillRatio, to.AvailableKWh, to.LastsTheNight = known(from.FillRatio), known(from.AvailableKWh), from.Lasts
		if !from.Lasts && l.Tonight != nil && l.Tonight.LowC != nil { // by no low there is no loss to reckon with
			to.HoursLeftS = known(from.HoursLeftS)
		}
	}
}

func readings(s *controller.Snapshot) []Reading {
	all := make([]Reading, 0, len(s.Settings.House.Probes))
	for i := range s.Settings.House.Probes {
		p := &s.Settings.House.Probes[i]
		r := Reading{
			Probe: p.Name, Role: p.Judge.Role.String(), Place: p.Judge.Place.String(), DepthM: rounded(p.Judge.DepthM, 1000),
			Quality: judge.Bad.String(), Cause: judge.Missing.String(),
		}
		if p.Store >= 0 && p.Store < len(s.Settings.House.Decide.Stores) {
			r.Store = s.Settings.House.Decide.Stores[p.Store].Name
		}
		if i < len(s.Verdicts) {
			v := &s.Verdicts[i]
			r.Quality, r.Cause, r.AgeS = v.Quality.String(), v.Cause.String(), rounded(v.AgeS, 10)
			if v.Quality.Usable() {
				r.value(p.Judge.Role, v.Value)
			}
		}
		all = append(all, r)
	}
	return all
}

// value puts a reading where its unit stands.
func (r *Reading) value(role judge.Role, v float64) {
	switch {
	case role.Temperature():
		r.TemperatureC = known(v)
	case role.Contact():
		on := v > 0.5
		r.On = &on
	case role == judge.Humidity:
		r.HumidityRatio = known(v)
	case role == judge.FanPower:
		r.PowerW = known(v)
	case role == judge.CO2:
		r.CO2Ppm = known(v)
	case role == judge.Light:
		r.LightLux = known(v)
	case role == judge.Radon:
		r.RadonBqM3 = known(v)
	}
}

func stores(s *controller.Snapshot) []Store {
	set := &s.Settings.House.Decide
	all := make([]Store, 0, len(set.Stores))
	for i := range set.Stores {
		d, st, in := &s.Decision.Stores[i], &s.State.Stores[i], &s.Inputs.Stores[i]
		x := Store{
			Fans: []Fan{},
			Name: set.Stores[i].Name, State: d.State.String(), Reason: d.Reason.Code.String(), Running: d.Running(),
			RunS: rounded(st.RunS, 1), HeatW: rounded(d.HeatW, 1), PowerW: rounded(d.PowerW, 1), SoilLostS: rounded(in.Soil.LostS, 1),
		}
		if in.Soil.Known {
			x.SoilC = known(float64(in.Soil.C))
		}
		if i < len(s.Settings.Pipes) {
			x.PipeDepthM = rounded(s.Settings.Pipes[i].DepthM, 1000)
		}
		for j := range set.Stores[i].Fans {
			f := Fan{Name: set.Stores[i].Fans[j].Name, Stage: int(d.Stages[j]), Obeys: !down(s, i, j), ByBackup: st.Fans[j].ByBackup}
			f.Fault = faultWords[st.Fans[j].Fault]
			x.Fans = append(x.Fans, f)
		}
		all = append(all, x)
	}
	return all
}

// down reports whether a fan's device takes no orders.
func down(s *controller.Snapshot, store, fan int) bool {
	return s.Inputs.Stores[store].Fans[fan].Down
}

var faultWords = map[decide.Fault]string{
	decide.DoesNotStart: "does not start", decide.StuckOn: "does not stop", decide.Weak: "moves too little air",
}

func temperature(t decide.Temperature) *float64 {
	if !t.Quality.Usable() {
		return nil
	}
	return known(float64(t.C))
}

// known is a value to a thousandth, or nil where it is no number.
func known(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = rounded(v, 1000)
	return &v
}

func rounded(v, parts float64) float64 {
	if v = math.Round(v*parts) / parts; math.IsNaN(v) || math.IsInf(v, 0) || v == 0 {
		return 0 // also of -0
	}
	return v
}
