package season

import (
	"strings"
	"testing"
	"time"
)

func TestDaysContain(t *testing.T) {
	for _, c := range []struct{ text, days, written string }{
		{"Mon..Fri", "Mon Tue Wed Thu Fri", "Mon..Fri"},
		{"Sat..Mon", "Sat Sun Mon", "Sat..Mon"},
		{"Mon,Wed..Fri", "Mon Wed Thu Fri", "Mon,Wed..Fri"},
		{"Sun", "Sun", "Sun"},
		{" sun , MON ", "Sun Mon", "Sun..Mon"},
		{"Mon..Mon", "Mon", "Mon"},
		{"Fri..Sun, Sat", "Fri Sat Sun", "Fri..Sun"},
		{"Mon..Sun", "Sun Mon Tue Wed Thu Fri Sat", "every day"},
		{"Wed..Tue", "Sun Mon Tue Wed Thu Fri Sat", "every day"},
	} {
		t.Run(c.text, func(t *testing.T) {
			days := mustDays(t, c.text)
			for d := time.Sunday; d <= time.Saturday; d++ {
				if want := strings.Contains(c.days, d.String()[:3]); days.Contains(d) != want {
					t.Errorf("contains %s: %v, want %v", d, !want, want)
				}
			}
			if days.String() != c.written {
				t.Errorf("written %q, want %q", days, c.written)
			}
		})
	}
	for d := time.Sunday; d <= time.Saturday; d++ {
		if !(Days{}).Contains(d) {
			t.Errorf("the zero value does not contain %s", d)
		}
	}
}

func TestDaysThatCannotBeReadSayWhy(t *testing.T) {
	const remedy = ` is no day; write Mon, Tue, Wed, Thu, Fri, Sat, Sun, ranges such as Mon..Fri, and commas between`
	for text, part := range map[string]string{
		"":              ``,
		"Mon,":          ``,
		"weekend":       `weekend`,
		"Mon-Fri":       `Mon-Fri`,
		"Mon..":         `Mon..`,
		"Mon..Tue..Wed": `Mon..Tue..Wed`,
		"Mon, Funday":   `Funday`,
		"1..5":          `1..5`,
	} {
		want := `days "` + text + `": "` + part + `"` + remedy
		if _, err := ParseDays(text); err == nil || err.Error() != want {
			t.Errorf("%q:\n got %v\nwant %s", text, err, want)
		}
	}
}

func FuzzParseDays(f *testing.F) {
	for _, seed := range []string{"Mon..Fri", "Sat..Mon", "Mon,Wed..Fri", "Sun", "Mon..Sun", ",", "..", "ſun"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		days, err := ParseDays(text)
		if err != nil || days == (Days{}) {
			return
		}
		if again, err := ParseDays(days.String()); err != nil || again != days {
			t.Errorf("%q became %q, which is %v, %v", text, days, again, err)
		}
	})
}
