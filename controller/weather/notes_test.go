package weather_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"loambank/controller/weather"
)

// A file's notes name what was filled and clipped; weather_files-S071 is a file that comes 0.62 h
// early when its instants are taken for hours.
func TestNotesSayWhatAFileLacks(t *testing.T) {
	text := plain(t, golden)
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"a whole file has none", text, nil},
		{"an hour without wind", each(text, 8, 22, gap(50, 1, "999")), []string{"one hour's wind was missing and is filled from its neighbours"}},
		{
			"six hours without air and two values under zero", cell(cell(each(text, 8, 7, gap(3000, 6, "99.9")), 10, 14, "-3"), 11, 16, "-10"),
			[]string{
				"6 hours of air temperature were missing and are filled from their neighbours",
				"2 values of sunshine stood a little under zero and count as zero",
			},
		},
	} {
		y, err := parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.want, y.Notes()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
	for _, c := range []struct {
		base weather.TimeBase
		inst float64
		want string
	}{
		{weather.HourEnding, 0, "0.6 h earlier than the sun"},
		{weather.Instant, 1, "h later than the sun"},
		{weather.Instant, read(t, satellite).InstantH, ""},
	} {
		y := *read(t, satellite)
		y.Base, y.InstantH = c.base, c.inst
		notes := strings.Join(y.Notes(), "; ")
		if c.want == "" && notes != "" || !strings.Contains(notes, c.want) {
			t.Errorf("base %v, %v h: %q, want %q", c.base, c.inst, notes, c.want)
		}
	}
}
