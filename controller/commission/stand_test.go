package commission_test

import (
	"strings"
	"testing"
	"time"

	"loambank/config/unit"
	"loambank/controller/commission"
	"loambank/controller/judge"
)

// stand is a house that obeys orders as the daemon does, and a person who does what is asked.
type stand struct {
	t     *testing.T
	look  commission.Look
	now   time.Time
	left  map[string]int64 // of the order for each store, s
	stuck map[string]bool  // fans that do not obey by staying as they are
	does  []deed           // what the person does when told so, each once
	types []string         // what the person types, one after the other
	said  []string
	kept  int
	gave  []commission.Order // all orders

	startsS, actsS int       // a fan starts so long after its order, an interlock acts so long after it is read, s
	onS            int       // an interlock has been read on, s
	later          []pending // in any order
}

// deed is what a person does once some words are said.
type deed struct {
	words string
	do    func(*stand)
}

// pending is what happens at a time.
type pending struct {
	at time.Time
	do func(*stand)
}

func (h *stand) after(s int, do func(*stand)) {
	h.later = append(h.later, pending{h.now.Add(time.Duration(s) * time.Second), do})
}

var begun = time.Date(2026, time.November, 14, 13, 0, 0, 0, time.UTC)

func number(v float64) *float64 { return &v }

// fernHollow is a house of an invented farm: two stores, fans of two speeds and one.
func fernHollow(t *testing.T) *stand {
	fan := func(name string, stages uint8, w float64) commission.FanLook {
		return commission.FanLook{Name: name, Stages: stages, Obeys: true, PowerW: number(w), StatedW: 500, StatedFlowM3s: 0.4}
	}
	probe := func(name, store string, role judge.Role, v float64) commission.ProbeLook {
		return commission.ProbeLook{Name: name, Store: store, Role: role, Usable: true, Value: v}
	}
	return &stand{
		t: t, now: begun, left: map[string]int64{}, stuck: map[string]bool{},
		look: commission.Look{
			House: "lower", At: begun, TickS: 10,
			Stores: []commission.StoreLook{
				{Name: "beds", Why: "rest", DuctInC: number(18), DuctOutC: number(14.5), Fans: []commission.FanLook{fan("east", 2, 480)}},
				{Name: "path", Why: "rest", Fans: []commission.FanLook{fan("north", 1, 300)}},
			},
			Probes: []commission.ProbeLook{
				probe("air", "", judge.Air, 12), probe("water", "beds", judge.PipeWater, 0), probe("smoke", "", judge.Smoke, 0),
			},
		},
	}
}

func (h *stand) fans(store string, do func(*commission.FanLook)) {
	for i := range h.look.Stores {
		if s := &h.look.Stores[i]; store == "" || s.Name == store {
			for j := range s.Fans {
				do(&s.Fans[j])
			}
		}
	}
}

// obey takes an order as the daemon would.
func (h *stand) obey(o commission.Order) {
	if o.Do == commission.ClearSmoke {
		h.look.Smoke = h.stuck["smoke"]
		return
	}
	if o.Do != commission.Auto && (o.ForS <= 0 || o.ForS > 90) {
		h.t.Errorf("an order holds for %d s; nobody may be there to end it", o.ForS)
	}
	for i := range h.look.Stores {
		if name := h.look.Stores[i].Name; o.Store == "" || o.Store == name {
			h.left[name] = o.ForS
		}
	}
	h.fans(o.Store, func(f *commission.FanLook) {
		if h.stuck[f.Name] {
			return
		}
		stage := uint8(0)
		if o.Do == commission.Run && (o.Fan == "" || o.Fan == f.Name) {
			if stage = o.Stage; o.Stage == 0 {
				stage = f.Stages
			}
		}
		if stage > 0 && f.Stage == 0 && h.startsS > 0 {
			h.after(h.startsS, func(h *stand) {
				if h.left[o.Store] > 0 || o.Store == "" && len(h.left) > 0 {
					f.Stage = stage
				}
			})
			return
		}
		f.Stage = stage
	})
}

// pass lets a second pass: interlocks hold, orders end.
func (h *stand) pass() {
	h.now = h.now.Add(time.Second)
	h.look.At = h.now
	due := h.later
	h.later = nil
	for _, p := range due {
		if h.now.Before(p.at) {
			h.later = append(h.later, p)
		} else {
			p.do(h)
		}
	}
	for name := range h.left {
		if h.left[name]--; h.left[name] <= 0 {
			h.fans(name, func(f *commission.FanLook) { f.Stage = 0 })
			delete(h.left, name)
		}
	}
	on := false
	for _, p := range h.look.Probes {
		h.look.Smoke = h.look.Smoke || p.Role == judge.Smoke && p.Value == 1
		if (p.Role == judge.PipeWater || p.Role == judge.HandSwitch) && p.Value == 1 || h.look.Smoke {
			on = true
			if !h.stuck["water"] && h.onS >= h.actsS {
				h.fans(p.Store, func(f *commission.FanLook) { f.Stage = 0 })
			}
		}
	}
	if h.onS++; !on {
		h.onS = 0
	}
}

// probe is the one of that name.
func (h *stand) probe(name string) *commission.ProbeLook {
	for i := range h.look.Probes {
		if h.look.Probes[i].Name == name {
			return &h.look.Probes[i]
		}
	}
	h.t.Fatalf("no probe %s", name)
	return nil
}

// update lets a second pass in which the person types a line, or nothing, and obeys what s then orders.
func (h *stand) update(s *commission.Session, line *string) commission.Turn {
	h.pass()
	look := h.look
	turn := s.Update(commission.Event{Now: h.now, PassedS: 1, Look: &look, Line: line})
	for _, o := range turn.Orders {
		h.gave = append(h.gave, o)
		h.obey(o)
	}
	return turn
}

// typed takes the next of some lines, nil where there is none.
func typed(lines *[]string) (line *string) {
	if len(*lines) > 0 {
		line, *lines = &(*lines)[0], (*lines)[1:]
	}
	return line
}

// walk makes the round of s until it is over, or for two hours.
func (h *stand) walk(s *commission.Session) {
	var ask string
	for range 7200 {
		var line *string
		if ask != "" {
			line = typed(&h.types)
		}
		turn := h.update(s, line)
		if turn.Keep {
			h.kept++
		}
		for _, text := range turn.Say {
			h.said = append(h.said, text)
			if len(h.does) > 0 && strings.Contains(text, h.does[0].words) {
				h.does[0].do(h)
				h.does = h.does[1:]
			}
		}
		if ask = turn.Ask; turn.Done {
			return
		}
	}
	h.t.Fatalf("the round does not end; the last that was said is %q, asked is %q", h.said[len(h.said)-1], ask)
}

// heard reports whether words were said.
func (h *stand) heard(words string) bool { return strings.Contains(strings.Join(h.said, "\n"), words) }

// slowly does something so many seconds later.
func slowly(s int, do func(*stand)) func(*stand) { return func(h *stand) { h.after(s, do) } }

// set makes a probe read a value.
func set(name string, v float64) func(*stand) { return func(h *stand) { h.probe(name).Value = v } }

// age makes a probe silent for that long, or answer again.
func age(name string, s float64) func(*stand) { return func(h *stand) { h.probe(name).AgeS = s } }

func begin(h *stand) *commission.Session {
	look := h.look
	return commission.Begin(commission.Options{SettleS: 60, Display: unit.US}, &look, commission.Baseline{}, h.now)
}
