package deploy_test

import (
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// leastLetters is the least size of letters: on a telephone, 390 px wide, 11 units of a drawing that
// is 480 wide are 9 px.
const leastLetters = 11

func TestDrawingsAreBlackOnWhiteAndShown(t *testing.T) {
	paths, err := filepath.Glob("board/*.svg")
	if err != nil || len(paths) < 7 {
		t.Fatalf("%d drawings, %v", len(paths), err)
	}
	pages := ""
	for _, g := range guides(t) {
		pages += g.text
	}
	for _, path := range paths {
		if !strings.Contains(pages, "]("+filepath.Base(path)+")") {
			t.Errorf("%s is shown on no page", path)
		}
		checkDrawing(t, path)
	}
}

func checkDrawing(t *testing.T, path string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	seen := map[string]int{}
	for d := xml.NewDecoder(f); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		e, is := token.(xml.StartElement)
		if !is {
			continue
		}
		seen[e.Name.Local]++
		for _, a := range e.Attr {
			switch a.Name.Local {
			case "fill", "stroke":
				if !slices.Contains([]string{"#000", "#fff", "none"}, a.Value) {
					t.Errorf("%s: %s is coloured %s", path, e.Name.Local, a.Value)
				}
			case "font-size":
				if size, err := strconv.ParseFloat(a.Value, 64); err != nil || size < leastLetters {
					t.Errorf("%s: letters of %s units; want %d at least", path, a.Value, leastLetters)
				}
			case "viewBox":
				if !strings.HasPrefix(a.Value, "0 0 480 ") {
					t.Errorf("%s: viewBox %s; want it 480 wide", path, a.Value)
				}
			}
		}
	}
	if seen["title"] != 1 || seen["desc"] != 1 || seen["text"] < 5 || seen["image"]+seen["script"] > 0 {
		t.Errorf("%s holds %v; want a title, a description, words, and nothing from elsewhere", path, seen)
	}
}

var (
	rule  = regexp.MustCompile(`^(SUBSYSTEM|KERNEL|ACTION)=="[^"]+"(, (SUBSYSTEM|KERNEL|ACTION)=="[^"]+")*(, (GROUP|MODE)="[^"]+"|, RUN\+="/bin/[^"]+")+$`)
	group = regexp.MustCompile(`GROUP="([^"]+)"|chgrp (\S+)`)
)

// What the rules give to groups reaches the daemon only if its unit has them.
func TestRulesGiveDevicesToTheUnitsGroups(t *testing.T) {
	rules, err := os.ReadFile("board/70-loambank.rules")
	if err != nil {
		t.Fatal(err)
	}
	unit, err := os.ReadFile("loambank.service")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`(?m)^SupplementaryGroups=(.*)$`).FindSubmatch(unit)
	if m == nil {
		t.Fatal("the unit has no groups")
	}
	given := map[string]bool{}
	for line := range strings.Lines(string(rules)) {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if !rule.MatchString(line) {
			t.Errorf("no rule: %s", line)
		}
		for _, g := range group.FindAllStringSubmatch(line, -1) {
			given[g[1]+g[2]] = true
		}
	}
	has := strings.Fields(string(m[1]))
	for g := range given {
		if !slices.Contains(has, g) {
			t.Errorf("devices are given to group %s; the unit has %v", g, has)
		}
	}
	if len(given) != len(has) {
		t.Errorf("devices are given to %v; the unit has %v", given, has)
	}
}
