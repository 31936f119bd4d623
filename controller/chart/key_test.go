package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// letters is a text of a picture, with where it stands.
type letters struct {
	x, y         float64
	anchor, text string
}

// lettered are the texts of a picture with where they stand, in their order.
func lettered(t *testing.T, svg string) (all []letters) {
	t.Helper()
	for _, m := range regexp.MustCompile(`<text x="([0-9.]+)" y="([0-9.]+)" class="[a-z]*" text-anchor="(\w+)">([^<]*)<`).FindAllStringSubmatch(svg, -1) {
		x, errX := strconv.ParseFloat(m[1], 64)
		y, errY := strconv.ParseFloat(m[2], 64)
		if errX != nil || errY != nil {
			t.Fatalf("%s: %v %v", m[0], errX, errY)
		}
		all = append(all, letters{x, y, m[3], m[4]})
	}
	return all
}

func TestAKeyThatIsTooLongForARowGoesOn(t *testing.T) {
	c := &Chart{From: midnight, To: midnight.Add(6 * time.Hour), Width: 440, Panels: []Panel{{Name: "°C"}}, Lanes: []Lane{{Name: "beds"}}}
	for i, name := range []string{"charge (heat down)", "discharge (heat up)", "dry", "frost", "action", "fallback"} {
		c.Panels[0].Curves = append(c.Panels[0].Curves, Curve{Name: "probe of " + name})
		from := midnight.Add(time.Duration(i) * time.Hour)
		c.Lanes[0].Stretches = append(c.Lanes[0].Stretches, Stretch{from, from.Add(time.Hour), name})
	}
	rows := map[float64]bool{}
	keys := 0
	for _, l := range lettered(t, draw(t, c)) {
		if l.anchor != "start" || l.x <= left {
			continue
		}
		keys++
		rows[l.y] = true
		if end := l.x + 7*float64(len([]rune(l.text))); end > 440-right {
			t.Errorf("%s ends at %v px of 440", l.text, end)
		}
	}
	if keys != 12 || len(rows) < 4 {
		t.Errorf("%d names stand in %d rows, want 12 in 4 at least", keys, len(rows))
	}
}

func TestARowOfAKeyTakesItsHeight(t *testing.T) {
	height := func(names ...string) int {
		c := &Chart{Width: 440, Panels: []Panel{{}}}
		for _, n := range names {
			c.Panels[0].Curves = append(c.Panels[0].Curves, Curve{Name: n})
		}
		m := regexp.MustCompile(` height="(\d+)" role`).FindStringSubmatch(draw(t, c))
		n, err := strconv.Atoi(m[1])
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	long := strings.Repeat("x", 30)
	if one, two := height(long), height(long, long); two != one+keyHeight || height() != one {
		t.Errorf("a picture with two rows of a key is %d px high, with one %d, with none %d", two, one, height())
	}
}

// The names of limits that lie close never cover each other, and none is lost.
func TestLimitsThatLieCloseAreNamedApart(t *testing.T) {
	for _, values := range [][]float64{{5, 1.5}, {1.5, 5}, {5, 4.9}, {5, 5}, {5, 4.8, 4.6, 4.4}, {20, -20, 0}} {
		c := &Chart{From: midnight, To: midnight.Add(time.Hour), Panels: []Panel{{Height: 90}}}
		for i, v := range values {
			c.Panels[0].Rules = append(c.Panels[0].Rules, Rule{fmt.Sprint("limit ", i), v})
		}
		c.Panels[0].Rules = append(c.Panels[0].Rules, Rule{"far", 30})
		at := map[string]float64{}
		for _, l := range lettered(t, draw(t, c)) {
			if l.anchor == "end" && (l.text == "far" || strings.HasPrefix(l.text, "limit ")) {
				at[l.text] = l.y
			}
		}
		if len(at) != len(values)+1 {
			t.Errorf("%v: named are %v", values, at)
		}
		for i, v := range values {
			for k := range i {
				a, b := at[fmt.Sprint("limit ", i)], at[fmt.Sprint("limit ", k)]
				if a-b < 12 && b-a < 12 {
					t.Errorf("%v: two names stand at %v and %v px", values, a, b)
				}
				if v > values[k] && a > b || v < values[k] && a < b {
					t.Errorf("%v: the higher limit is named lower: %v", values, at)
				}
			}
		}
	}
}

func TestAValueBetweenGapsShows(t *testing.T) {
	at := func(h int) time.Time { return midnight.Add(time.Duration(h) * time.Hour) }
	c := &Chart{From: midnight, To: at(10), Panels: []Panel{{Curves: []Curve{{Points: []Point{
		{Time: at(1), Value: 3}, {Time: at(2), Gap: true}, {Time: at(3), Value: 3}, {Time: at(4), Value: 3}, {Time: at(5), Gap: true}, {Time: at(9), Value: 3},
	}}}}}}
	if n := strings.Count(draw(t, c), "h4"); n != 2 {
		t.Errorf("%d values stand alone, want 2", n)
	}
}

func TestAKindKeepsItsColourWhateverElseStands(t *testing.T) {
	c := &Chart{Kinds: []string{"charge", "discharge", "dry"}}
	for _, kind := range []string{"other", "dry", "another", "discharge"} {
		c.Lanes = append(c.Lanes, Lane{Stretches: []Stretch{{Kind: kind}}})
	}
	if got, want := c.kinds(), []string{"discharge", "dry", "other", "another"}; !slices.Equal(got, want) {
		t.Errorf("the key names %v, want %v", got, want)
	}
	for kind, want := range map[string]int{"discharge": 1, "dry": 2, "other": 3, "another": 4} {
		if got := c.colour(kind); got != want {
			t.Errorf("%s has colour %d, want %d", kind, got, want)
		}
	}
}

func TestNamesOfTimesNeverCoverEachOther(t *testing.T) {
	for _, width := range []int{360, 440, 900, 1600} {
		for hours := 1.0; hours < 20*365*24; hours *= 1.17 {
			span := time.Duration(hours * float64(time.Hour))
			c := &Chart{From: midnight.Add(7 * time.Hour), To: midnight.Add(7*time.Hour + span), Width: width, Panels: []Panel{{}}}
			end := 0.0
			for _, l := range lettered(t, draw(t, c)) {
				if l.anchor != "middle" {
					continue
				}
				half := 3.5 * float64(len(l.text))
				if l.x-half < end || l.x+half > float64(width) {
					t.Errorf("%.1f h on %d px: %q stands from %.0f to %.0f px, the one before it ends at %.0f", hours, width, l.text, l.x-half, l.x+half, end)
				}
				end = l.x + half
			}
			if end == 0 && hours > 1.2 {
				t.Errorf("%.1f h on %d px: no time is named", hours, width)
			}
		}
	}
}

func TestMidnightIsNamedByItsDayWhereHoursAreFew(t *testing.T) {
	c := &Chart{From: midnight.Add(7 * time.Hour), To: midnight.Add(31 * time.Hour), Width: 440}
	var names []string
	for _, tick := range c.timeTicks() {
		names = append(names, tick.label)
	}
	if want := []string{"12:00", "18:00", midnight.AddDate(0, 0, 1).Format("2 Jan"), "06:00"}; !slices.Equal(names, want) {
		t.Errorf("the axis names %v, want %v", names, want)
	}
}
