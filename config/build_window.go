package config

import (
	"fmt"
	"strings"

	"loambank/controller/decide"
	"loambank/controller/season"
)

// maxWindows bounds a house's windows and the farm's price periods: their indices are one byte.
const maxWindows = 100

// buildWindows reads the windows of a house, each with its own policy.
func (b *builder) buildWindows(h *House, table, group string, windows []WindowTable, of asked, stores []storeAsked) {
	s := &h.House.Decide
	if len(windows) > maxWindows {
		b.fault(join(table, "window"), fmt.Sprintf("%d windows are too many", len(windows)), fmt.Sprintf("write at most %d", maxWindows))
		return
	}
	taken := names{}
	for i, t := range windows {
		at := index(join(table, "window"), i)
		if b.named(at, "name", t.Name) {
			b.take(taken, "window of this house", at, t.Name)
		}
		b.group = group + ", window " + t.Name
		span := b.span(at, t.Dates, t.Hours, t.Days)
		allow := b.allow(at, t.Allow)

		own := b.ask(at, t.PolicyKeys)
		policy := b.resolve(own.over(of), s.Heater)
		policy.Allow = allow
		b.policyLines(own, policy, &s.Policies[0])
		b.checkWindow(at, own, own.over(of), policy)
		policy.Stores = b.windowStores(at, t.StoreKeys, stores)

		s.Season.Windows = append(s.Season.Windows, span)
		s.Policies = append(s.Policies, policy)
		h.Windows = append(h.Windows, t.Name)
		h.Crops = append(h.Crops, own.over(of).crop.value)
	}
}

// checkWindow compares a window's policy, once it states a part of it itself.
func (b *builder) checkWindow(table string, own, all asked, p decide.Policy) {
	all.table = table
	if own.setpoint.stated || own.frost.stated || own.crop.stated || own.humidityBand.stated || own.humidityLimit.stated {
		b.checkPolicy(all, p)
	}
}

// windowStores is what the window asks of every store of the house.
func (b *builder) windowStores(table string, k StoreKeys, stores []storeAsked) []decide.StorePolicy {
	own := b.askStore(table, k)
	var policies []decide.StorePolicy
	for i, store := range stores {
		a := own.over(store)
		p := b.resolveStore(a)
		if i == 0 {
			b.storeLines(own, p, false)
		}
		if own != (storeAsked{table: table}) {
			b.checkStore(a, p)
		}
		policies = append(policies, p)
	}
	return policies
}

// span reads when a window or price period holds.
func (b *builder) span(table, dates, hours, days string) season.Span {
	var span season.Span
	var err error
	if b.stated(table, "dates", dates) {
		if span.Dates, err = season.ParseDates(dates); err != nil {
			b.wrong(join(table, "dates"), err)
		}
	}
	if b.stated(table, "hours", hours) {
		if span.Hours, err = season.ParseHours(hours); err != nil {
			b.wrong(join(table, "hours"), err)
		}
	}
	if b.stated(table, "days", days) {
		if span.Days, err = season.ParseDays(days); err != nil {
			b.wrong(join(table, "days"), err)
		}
	}
	b.line("when", span.Dates.String()+", "+span.Hours.String()+", "+span.Days.String(), false)
	return span
}

// stated reports whether a text is written, be it empty.
func (b *builder) stated(table, key, text string) bool {
	return text != "" || b.blank(table, key, text)
}

// allow reads what a window lets run.
func (b *builder) allow(table string, words *[]string) decide.Allow {
	if words == nil {
		b.line("allow", "charge, discharge, dry", true)
		return decide.Allow{Charge: true, Discharge: true, Dry: true}
	}
	var a decide.Allow
	for i, w := range *words {
		switch w {
		case "charge":
			a.Charge = true
		case "discharge":
			a.Discharge = true
		case "dry":
			a.Dry = true
		default:
			b.fault(index(join(table, "allow"), i), quote(w)+" is nothing that a window can allow", suggest(w, []string{"charge", "discharge", "dry"}))
		}
	}
	text := strings.Join(*words, ", ")
	if len(*words) == 0 {
		text = "nothing but frost protection"
	}
	b.line("allow", text, false)
	return a
}
