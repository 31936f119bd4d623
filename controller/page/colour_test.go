package page

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// luminance is the relative luminance of #rrggbb or #rgb. WCAG 2.2, "relative luminance".
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) == 4 {
		hex = string([]byte{'#', hex[1], hex[1], hex[2], hex[2], hex[3], hex[3]})
	}
	l := 0.0
	for i, weight := range [...]float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		l += weight * c
	}
	return l
}

func contrast(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }

// TestColoursCanBeRead holds text to 4.5:1 and lines that mean something to 3:1: WCAG 2.2, 1.4.3
// and 1.4.11.
func TestColoursCanBeRead(t *testing.T) {
	css, err := files.ReadFile("asset/style.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile(`:root\{([^}]*)\}`).FindAllSubmatch(css, -1)
	if len(blocks) < 2 {
		t.Fatalf("%d sets of colours", len(blocks))
	}
	for i, theme := range []string{"light", "dark"} {
		colours := map[string]float64{}
		for _, m := range regexp.MustCompile(`--(\w+):(#[0-9a-f]+)`).FindAllSubmatch(blocks[i][1], -1) {
			colours[string(m[1])] = luminance(t, string(m[2]))
		}
		for _, pair := range []struct {
			front, back string
			least       float64
		}{
			{"ink", "paper", 4.5},
			{"ink", "sheet", 4.5},
			{"dim", "paper", 4.5},
			{"dim", "sheet", 4.5},
			{"link", "paper", 4.5},
			{"link", "sheet", 4.5},
			{"ink", "riskpaper", 4.5},
			{"ink", "carepaper", 4.5},
			{"ink", "soil", 4.5},
			{"ink", "store", 4.5},
			{"sheet", "ink", 4.5},
			{"calm", "sheet", 3},
			{"care", "sheet", 3},
			{"risk", "riskpaper", 3},
			{"risk", "sheet", 3},
			{"up", "store", 3},
			{"down", "store", 3},
			{"ground", "store", 3},
		} {
			front, found := colours[pair.front]
			back, also := colours[pair.back]
			if !found || !also {
				t.Fatalf("%s: no colour %s or %s", theme, pair.front, pair.back)
			}
			if c := contrast(front, back); c < pair.least {
				t.Errorf("%s: %s on %s has %.2f:1, less than %v", theme, pair.front, pair.back, c, pair.least)
			}
		}
	}
}
