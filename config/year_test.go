package config

import (
	"bufio"
	"bytes"
	"strings"
	"testing"
)

func TestStrip(t *testing.T) {
	s := parse(t, `flow = "1.3 m3/s" } ]`, `flow = "1.3 m3/s" } ]
[[house.window]]
name = "weekend in May"
dates = "05-01..05-31"
days = "Sat..Sun"
[[house.window]]
name = "over the new year and on"
dates = "12-01..01-15"
hours = "22:00..06:00"`)
	var out bytes.Buffer
	p := printer{bufio.NewWriter(&out), 80}
	p.strip(&s.Houses[0])
	p.out.Flush()
	// 2028: May begins on a Monday. The night of 15 January ends on the 16th, that of 1 December
	// begins on that day.
	want := `
the year of house lower
                    Jan  Feb  Mar  Apr  May  Jun  Jul  Aug  Sep  Oct  Nov  Dec
weekend in May      .... .... .... .... ++++ .... .... .... .... .... .... ....
over the new year ~ ##+. .... .... .... .... .... .... .... .... .... .... ####
no window           #### #### #### #### ++++ #### #### #### #### #### #### ####
                    # rules at some time every day, + on some days, . on none
`
	if out.String() != want {
		t.Errorf("strip\n%s\nwant\n%s", out.String(), want)
	}
}

func TestWindowUnderAnotherDoesNotRule(t *testing.T) {
	s := parse(t, `flow = "1.3 m3/s" } ]`, `flow = "1.3 m3/s" } ]
[[house.window]]
name = "first"
dates = "03-01..03-31"
[[house.window]]
name = "second"
dates = "03-15..04-15"`)
	year := walkYear(s.Houses[0].House.Decide.Season.Site, s.Houses[0].House.Decide.Season.Windows)
	var days [3]int
	for i := range year {
		for _, d := range year[i].days {
			if d {
				days[i]++
			}
		}
	}
	if days != [3]int{366 - 31 - 15, 31, 15} { // none, 1 to 31 March, 1 to 15 April
		t.Errorf("days without window, of the first, of the second: %v", days)
	}
	// Both changes of the clock lie within these: 31 days less the hour that March loses.
	if got, want := year[1].longestS, 31*86400.0-3600; got != want {
		t.Errorf("the first rules %v s, want %v", got, want)
	}
	if got, want := year[2].longestS, 15*86400.0; got != want {
		t.Errorf("the second rules %v s, want %v", got, want)
	}
}

func TestLongTextIsWrapped(t *testing.T) {
	var out bytes.Buffer
	p := printer{bufio.NewWriter(&out), 60}
	p.wrapped("  key   ", strings.Repeat("word ", 20)+"end")
	p.out.Flush()
	want := "  key   word word word word word word word word word word\n" +
		"        word word word word word word word word word word\n" +
		"        end\n"
	if out.String() != want {
		t.Errorf("wrapped\n%s\nwant\n%s", out.String(), want)
	}
}
