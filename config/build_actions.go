package config

import (
	"fmt"

	"loambank/controller/decide"
	"loambank/controller/season"
)

// buildActions reads when the actions of the calendar fall due.
func (b *builder) buildActions(s *Settings, f *File) []season.Schedule {
	if len(f.Action) > decide.MaxActions {
		b.fault("action", fmt.Sprintf("%d actions are too many", len(f.Action)), fmt.Sprintf("write at most %d", decide.MaxActions))
		return nil
	}
	var schedules []season.Schedule
	taken := names{}
	for i, t := range f.Action {
		table := index("action", i)
		if b.named(table, "name", t.Name) {
			b.take(taken, "action", table, t.Name)
		}
		b.group = "action " + t.Name
		var schedule season.Schedule
		if t.Cron == "" && !b.pos.has(join(table, "cron")) {
			b.missing(table, "cron", `when it is due, such as cron = "0 13 * * SUN"`)
		} else {
			var err error
			if schedule, err = season.ParseSchedule(t.Cron, s.Site.Zone); err != nil {
				b.wrong(join(table, "cron"), err)
			}
		}
		b.line("cron", t.Cron, false)
		b.line("kind", b.choice(table, "kind", t.Kind, "exercise", "top-up"), t.Kind == "")
		set(b, "run", b.run(table, t), b.defaults.runS, b.display.Duration)
		schedules = append(schedules, schedule)
	}
	return schedules
}

func (b *builder) run(table string, t ActionTable) option[float64] {
	return b.seconds(table, "run", t.Run, 10, 12*3600)
}

// actionsIn says what each action does in one house.
func (b *builder) actionsIn(actions []ActionTable, h *House) []decide.ActionSettings {
	var in []decide.ActionSettings
	for i, t := range actions {
		a := decide.ActionSettings{Name: t.Name, TopUp: t.Kind == "top-up"}
		if run := b.run(index("action", i), t); run.stated {
			a.RunS = run.value
		} else {
			a.RunS = b.defaults.runS
		}
		for j, store := range h.House.Decide.Stores[:min(len(h.House.Decide.Stores), decide.MaxStores)] {
			a.Stores[j] = (t.House == "" || t.House == h.House.Name) && (t.Store == "" || t.Store == store.Name)
		}
		in = append(in, a)
	}
	return in
}

// checkActions notes houses and stores that actions name and that do not exist.
func (b *builder) checkActions(actions []ActionTable, houses []House) {
	for i, t := range actions {
		table := index("action", i)
		var houseNames, storeNames []string
		for _, h := range houses {
			houseNames = append(houseNames, h.House.Name)
			if t.House != "" && t.House != h.House.Name {
				continue
			}
			for _, s := range h.House.Decide.Stores {
				storeNames = append(storeNames, s.Name)
			}
		}
		b.exists(table, "house", t.House, houseNames)
		b.exists(table, "store", t.Store, storeNames)
	}
}

func (b *builder) exists(table, key, name string, known []string) {
	if name == "" {
		return
	}
	for _, k := range known {
		if k == name {
			return
		}
	}
	b.fault(join(table, key), "there is no "+key+" "+quote(name), suggestName(name, known))
}
