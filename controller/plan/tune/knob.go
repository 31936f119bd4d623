package tune

import (
	"fmt"
	"math"
	"time"

	"loambank/config"
	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/season"
	"loambank/controller/tariff"
)

// knob is one number that may be turned. Windows and stores whose value is the house's turn with it;
// those with a value of their own keep it.
type knob struct {
	first int  // steps the search looks at first
	reach int  // steps to either side
	month bool // the worth of one month
	turn  func(d *draft)
	write func(d *draft) []line
}

// line is a line of the settings file and the table it belongs to.
type line struct{ table, key, value string }

// quoted is a value in the file's syntax.
func quoted(v any) string { return fmt.Sprintf("%q", fmt.Sprint(v)) }

// round makes of a value what the file would say of it, so that what is tried is what is written.
func round[T ~float64](v T, show func(T) string, parse func(string) (T, error)) T {
	if read, err := parse(show(v)); err == nil {
		return read
	}
	return v // a text of Display's is always read; its tests say so
}

// Steps that a grower would write.
func (sp *Space) stepK() unit.Kelvin {
	if sp.display == unit.US {
		return 5. / 9 // 1 °F
	}
	return 0.5
}

func (sp *Space) celsius(c unit.Celsius) unit.Celsius {
	return round(c, sp.display.Setting, unit.ParseTemperature)
}

func (sp *Space) kelvin(k unit.Kelvin) unit.Kelvin {
	return round(k, sp.display.Difference, unit.ParseDifference)
}

func (sp *Space) house() string {
	return "[[house]] # " + sp.today.House.Name
}

func (sp *Space) window(i int) string {
	return "[[house.window]] # " + sp.today.Windows[i]
}

// policyKnobs are of the house.
func (sp *Space) policyKnobs() []knob {
	temperature := func(key string, of func(*decide.Policy) *unit.Celsius) knob {
		return knob{
			first: 4, reach: 16,
			turn: func(d *draft) {
				base := *of(&d.of.House.Decide.Policies[0])
				to := sp.celsius(base.Add(unit.Kelvin(d.steps) * sp.stepK()))
				policies(d, of, base, to)
			},
			write: func(d *draft) []line {
				return []line{{sp.house(), key, quoted(sp.display.Setting(*of(&d.h.House.Decide.Policies[0])))}}
			},
		}
	}
	band := func(key string, of func(*decide.Policy) *unit.Kelvin) knob {
		return knob{
			first: 2, reach: 8,
			turn: func(d *draft) {
				base := *of(&d.of.House.Decide.Policies[0])
				policies(d, of, base, sp.kelvin(base+unit.Kelvin(d.steps)*sp.stepK()))
			},
			write: func(d *draft) []line {
				return []line{{sp.house(), key, quoted(sp.display.Difference(*of(&d.h.House.Decide.Policies[0])))}}
			},
		}
	}
	return []knob{
		temperature("setpoint", func(p *decide.Policy) *unit.Celsius { return &p.Setpoint }),
		band("setpoint_band", func(p *decide.Policy) *unit.Kelvin { return &p.SetpointBand }),
		temperature("charge_floor", func(p *decide.Policy) *unit.Celsius { return &p.ChargeFloor }),
		{write: func(d *draft) []line { // its default hangs on the setpoint
			return []line{{sp.house(), "dry_floor", quoted(sp.display.Setting(d.h.House.Decide.Policies[0].DryFloor))}}
		}},
		{write: sp.otherwise},
	}
}

// otherwise is what windows have otherwise than their house.
func (sp *Space) otherwise(d *draft) (all []line) {
	s := &d.h.House.Decide
	for i := range s.Season.Windows {
		note := func(key string, own, house string) {
			if own != house {
				all = append(all, line{sp.window(i), key, quoted(own)})
			}
		}
		base, p, show := &s.Policies[0], &s.Policies[i+1], sp.display.Setting
		note("setpoint", show(p.Setpoint), show(base.Setpoint))
		note("setpoint_band", sp.display.Difference(p.SetpointBand), sp.display.Difference(base.SetpointBand))
		note("charge_floor", show(p.ChargeFloor), show(base.ChargeFloor))
		note("dry_floor", show(p.DryFloor), show(base.DryFloor))
	}
	return all
}

// policies sets a value of the house's and of each window that had the house's.
func policies[T comparable](d *draft, of func(*decide.Policy) *T, base, to T) {
	all := d.h.House.Decide.Policies
	for i := range all {
		if v := of(&all[i]); *v == base {
			*v = to
		}
	}
}

// storeKnobs are of all stores of the house together.
func (sp *Space) storeKnobs() []knob {
	difference := func(key string, first int, of func(*decide.StorePolicy) *unit.Kelvin) knob {
		return sp.eachStore(key, first, func(p *decide.StorePolicy, steps int) {
			*of(p) = sp.kelvin(*of(p) + unit.Kelvin(steps)*sp.stepK())
		}, func(p *decide.StorePolicy) string { return sp.display.Difference(*of(p)) })
	}
	return []knob{
		difference("margin", 4, func(p *decide.StorePolicy) *unit.Kelvin { return &p.Margin }),
		difference("margin_band", 2, func(p *decide.StorePolicy) *unit.Kelvin { return &p.MarginBand }),
		difference("gain", 4, func(p *decide.StorePolicy) *unit.Kelvin { return &p.Gain }),
		difference("gain_band", 2, func(p *decide.StorePolicy) *unit.Kelvin { return &p.GainBand }),
		sp.eachStore("soil_floor", 4, func(p *decide.StorePolicy, steps int) {
			p.SoilFloor = sp.celsius(p.SoilFloor.Add(unit.Kelvin(steps) * sp.stepK()))
		}, func(p *decide.StorePolicy) string { return sp.display.Setting(p.SoilFloor) }),
		sp.minutes("min_run", func(s *decide.Store) *float64 { return &s.MinRunS }),
		sp.minutes("min_rest", func(s *decide.Store) *float64 { return &s.MinRestS }),
	}
}

// eachStore turns a number of every store's own policy.
func (sp *Space) eachStore(key string, first int, turn func(p *decide.StorePolicy, steps int), show func(*decide.StorePolicy) string) knob {
	return knob{
		first: first, reach: 16,
		turn: func(d *draft) {
			all := d.h.House.Decide.Policies
			for j := range all[0].Stores {
				was := d.of.House.Decide.Policies[0].Stores[j]
				for i := range all {
					if same := d.of.House.Decide.Policies[i].Stores[j]; show(&same) == show(&was) {
						turn(&all[i].Stores[j], d.steps)
					}
				}
			}
		},
		write: func(d *draft) (all []line) {
			for j := range d.h.House.Decide.Policies[0].Stores {
				all = append(all, line{sp.store(j), key, quoted(show(&d.h.House.Decide.Policies[0].Stores[j]))})
			}
			return all
		},
	}
}

func (sp *Space) store(j int) string {
	return "[[house.store]] # " + sp.today.House.Decide.Stores[j].Name
}

// leastS is the shortest run and rest that a search proposes of itself: motors and relays last longer.
const leastS = 300

// minutes turns a time of every store, in steps of five minutes and up to an hour.
func (sp *Space) minutes(key string, of func(*decide.Store) *float64) knob {
	return knob{
		first: 2, reach: 12,
		turn: func(d *draft) {
			for j := range d.h.House.Decide.Stores {
				v := of(&d.h.House.Decide.Stores[j])
				*v = min(max(3600, *v), max(min(leastS, *v), *v+300*float64(d.steps)))
			}
		},
		write: func(d *draft) (all []line) {
			for j := range d.h.House.Decide.Stores {
				all = append(all, line{sp.store(j), key, quoted(sp.display.Duration(*of(&d.h.House.Decide.Stores[j])))})
			}
			return all
		},
	}
}

// windowKnobs move the ends of windows that have dates, five days a step.
func (sp *Space) windowKnobs() (all []knob) {
	for i, w := range sp.today.House.Decide.Season.Windows {
		if _, _, dated := w.Dates.Ends(); !dated {
			continue
		}
		write := func(d *draft) []line {
			return []line{{sp.window(i), "dates", quoted(d.h.House.Decide.Season.Windows[i].Dates)}}
		}
		move := func(from, to int) func(d *draft) {
			return func(d *draft) {
				dates := &d.h.House.Decide.Season.Windows[i].Dates
				a, b, _ := dates.Ends()
				*dates = season.DatesBetween(later(a, from*d.steps), later(b, to*d.steps))
			}
		}
		const first, reach = 3, 6
		all = append(all, knob{first: first, reach: reach, turn: move(5, 0), write: write},
			knob{first: first, reach: reach, turn: move(0, 5), write: write})
	}
	return all
}

// later is a date of every year some days later, or earlier for fewer than none.
func later(date season.MonthDay, days int) season.MonthDay {
	const plain = 2027 // no leap year
	d := date.In(plain)
	t := time.Date(plain, d.Month, d.Day+days, 0, 0, 0, 0, time.UTC)
	return season.MonthDay{Month: t.Month(), Day: t.Day()}
}

// worthKnobs turn the worth of stored heat: its shape over the year, then each month alone; without
// prices, the least heat for each kWh of electricity.
func (sp *Space) worthKnobs() (all []knob) {
	t := &sp.today.House.Decide.Tariff
	if !t.HasElectricity || !t.HasStored {
		return []knob{{
			first: 4, reach: 20,
			turn: func(d *draft) {
				r := &d.h.House.Decide.MinRatio
				*r = min(50, max(0.5, *r+0.5*float64(d.steps)))
			},
			write: func(d *draft) []line {
				return []line{{pricesTable, "min_ratio", fmt.Sprintf("%.1f", d.h.House.Decide.MinRatio)}}
			},
		}}
	}
	if _, shaped := shapeOf(sp.today); shaped {
		all = append(all, knob{
			first: 4, reach: 16,
			turn: func(d *draft) { d.turn.ToppingUp = later(d.turn.ToppingUp, 5*d.steps) },
			write: func(d *draft) []line {
				return []line{{"[season]", "topping_up", quoted(d.turn.ToppingUp)}}
			},
		}, knob{
			first: 4, reach: 14,
			turn: func(d *draft) { d.share = math.Round((d.share+0.05*float64(d.steps))*1000) / 1000 },
			write: func(d *draft) []line {
				return []line{{pricesTable, "stored_share", quoted(sp.display.Share(d.share))}}
			},
		})
	}
	most := 0.0
	for _, w := range t.StoredPerKWh {
		most = max(most, w, t.FuelHeatPerKWh/4)
	}
	for m := range t.StoredPerKWh {
		all = append(all, knob{
			first: 2, reach: 12, month: true,
			turn: func(d *draft) { d.month[m] = float64(d.steps) * most / 8 },
		})
	}
	return all
}

// shapeOf is the worth of a stored kWh at the first frost as a share of the fuel's heat price. shaped
// is false where the settings state the twelve worths, or have no fuel to compare with.
func shapeOf(h *config.House) (share float64, shaped bool) {
	t := &h.House.Decide.Tariff
	if !t.HasFuel || t.FuelHeatPerKWh <= 0 {
		return 0, false
	}
	for m, s := range t.Shares {
		if s > 0 {
			share = t.StoredPerKWh[m] / (s * t.FuelHeatPerKWh)
			break
		}
	}
	for m, s := range t.Shares {
		if math.Abs(t.StoredPerKWh[m]-share*s*t.FuelHeatPerKWh) > 1e-9 {
			return 0, false
		}
	}
	return share, share > 0
}

// price makes the monthly worths of shape and months.
func (d *draft) price() {
	t := &d.h.House.Decide.Tariff
	if !t.HasStored {
		return
	}
	if _, shaped := shapeOf(d.of); shaped {
		t.Shares = tariff.DefaultShares(d.turn.ToppingUp, d.turn.FirstFrost, d.turn.LastFrost)
		for m := range t.StoredPerKWh {
			t.StoredPerKWh[m] = d.share * t.Shares[m] * t.FuelHeatPerKWh
		}
	}
	if d.month == [12]float64{} {
		return
	}
	for m := range t.StoredPerKWh {
		t.StoredPerKWh[m] = math.Round((t.StoredPerKWh[m]+d.month[m])*1e4) / 1e4 // as it is written
	}
}
