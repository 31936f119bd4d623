package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func plane(t *testing.T, p *Plane) string {
	t.Helper()
	var out bytes.Buffer
	if err := p.WriteSVG(&out); err != nil {
		t.Fatal(err)
	}
	for d := xml.NewDecoder(bytes.NewReader(out.Bytes())); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("not XML: %v\n%s", err, out.String())
		}
	}
	return out.String()
}

func TestSpotsStandWhereTheirFiguresAre(t *testing.T) {
	svg := plane(t, &Plane{
		Title: "a", X: Axis{Name: "$", Zero: true}, Y: Axis{Name: "h", Zero: true}, Width: 476, Height: 400,
		Series: []Series{{Name: "one", Spots: []Spot{{0, 0, ""}, {100, 40, "far"}, {50, 10, "mid"}}}},
	})
	var got [][2]float64
	for _, m := range regexp.MustCompile(`<circle cx="([0-9.]+)" cy="([0-9.]+)" r="4.5"`).FindAllStringSubmatch(svg, -1)[1:] {
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		got = append(got, [2]float64{x, y})
	}
	// The area is 400 by 400, from (62, 50).
	want := [][2]float64{{62, 450}, {462, 50}, {262, 350}}
	for i := range want {
		if len(got) != len(want) || got[i] != want[i] {
			t.Fatalf("spots at %v, want %v", got, want)
		}
	}
	for _, text := range []string{">far<", ">mid<", ">$<", ">h<", ">one<"} {
		if !strings.Contains(svg, text) {
			t.Errorf("%s is not written", text)
		}
	}
}

func TestMonthsNameAnAxis(t *testing.T) {
	svg := plane(t, &Plane{
		X: Axis{Names: []string{"Jan", "Feb"}}, Series: []Series{{Joined: true, Spots: []Spot{{0, 1, ""}, {1, 2, ""}}}}, Width: 476,
	})
	if !strings.Contains(svg, `x="162" y="429" class="" text-anchor="middle">Jan`) || !strings.Contains(svg, `x="362" y="429" class="" text-anchor="middle">Feb`) {
		t.Errorf("the months do not stand in the middle of their halves:\n%s", svg)
	}
}

func TestAPlaneOfNothingAndHostileNamesIsOne(t *testing.T) {
	plane(t, &Plane{})
	if svg := plane(t, &Plane{Title: `<script>"&`, Series: []Series{{Name: "<b>", Spots: []Spot{{1, 1, "<i>"}}}}}); strings.Contains(svg, "<script>") ||
		strings.Contains(svg, "<b>") || strings.Contains(svg, "<i>") {
		t.Errorf("markup in a name stays markup:\n%s", svg)
	}
}
