package config

import (
	"fmt"
	"strings"
	"time"
)

// A strip shows the year in cells, four to a month, each of 7 or 8 days.
const (
	cellsPerMonth = 4
	stripWidth    = 12*(cellsPerMonth+1) - 1
)

// Marks of a cell: the window rules at some time on every day of it, on some days, on none.
const (
	always = '#'
	partly = '+'
	never  = '.'
)

// strip prints the year of one house: which window rules when.
func (p *printer) strip(h *House) {
	s := &h.House.Decide
	fmt.Fprintf(p.out, "\nthe year of house %s\n", h.House.Name)
	label := p.width - stripWidth - 1
	months := make([]string, 12)
	for i := range months {
		months[i] = pad(time.Month(i + 1).String()[:3], cellsPerMonth)
	}
	fmt.Fprintf(p.out, "%s%s\n", pad("", label), strings.TrimRight(strings.Join(months, " "), " "))
	year := walkYear(s.Season.Site, s.Season.Windows)
	for i := range s.Season.Windows {
		p.row(clip(h.Windows[i], label-1), label, &year[i+1])
	}
	p.row("no window", label, &year[0])
	fmt.Fprintf(p.out, "%s%c rules at some time every day, %c on some days, %c on none\n", pad("", label), always, partly, never)
}

func (p *printer) row(name string, label int, o *opening) {
	line := pad(name, label)
	for month := time.January; month <= time.December; month++ {
		line += string(cells(o, month)) + " "
	}
	fmt.Fprintln(p.out, strings.TrimRight(line, " "))
}

// cells marks the parts of one month.
func cells(o *opening, month time.Month) []rune {
	first := time.Date(modelYear, month, 1, 0, 0, 0, 0, time.UTC).YearDay() - 1
	days := time.Date(modelYear, month+1, 0, 0, 0, 0, 0, time.UTC).Day()
	marks := make([]rune, cellsPerMonth)
	for c := range marks {
		from, to := first+c*days/cellsPerMonth, first+(c+1)*days/cellsPerMonth
		ruled := 0
		for _, rules := range o.days[from:to] {
			if rules {
				ruled++
			}
		}
		switch ruled {
		case to - from:
			marks[c] = always
		case 0:
			marks[c] = never
		default:
			marks[c] = partly
		}
	}
	return marks
}

// clip shortens a name that is too long for its column.
func clip(name string, width int) string {
	if len(name) <= width {
		return name
	}
	return name[:max(width-1, 0)] + "~"
}
