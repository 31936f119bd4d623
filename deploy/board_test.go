package deploy_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"loambank/config"
)

// guide is a page of the board's guide.
type guide struct {
	path, text string
}

// guides are all pages of the guide.
func guides(t *testing.T) []guide {
	t.Helper()
	paths, err := filepath.Glob("board/*.md")
	if err != nil || len(paths) == 0 {
		t.Fatalf("%d pages, %v", len(paths), err)
	}
	var all []guide
	for _, p := range paths {
		text, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, guide{p, string(text)})
	}
	return all
}

// fence is a block of code, which a list may indent.
var fence = regexp.MustCompile("(?ms)^( *)```(.*?)$\n(.*?)^ *```$")

// blocks are the page's blocks of code whose info string begins with a word, and what follows that.
func (g guide) blocks(word string) (infos, texts []string) {
	for _, m := range fence.FindAllStringSubmatch(g.text, -1) {
		if first, rest, _ := strings.Cut(m[2], " "); first == word {
			infos = append(infos, rest)
			texts = append(texts, regexp.MustCompile("(?m)^"+m[1]).ReplaceAllString(m[3], ""))
		}
	}
	return infos, texts
}

// around puts a part of a settings file, probes of a house or store or the fans of one, into a farm.
func around(info, part string) string {
	const (
		air  = `{ role = "air", place = "crop", name = "another air", driver = "file", path = "air" }, `
		soil = `{ role = "soil", place = "between", depth = "50 cm", name = "another soil", driver = "file", path = "soil" }, `
	)
	house, store := "probe = [ "+air+"]\n", "probe = [ "+soil+"]\n"
	fan := `fan = [ { name = "east", driver = "file", path = "fan", power = "450 W", flow = "2400 m3/h" } ]` + "\n"
	switch {
	case strings.HasPrefix(part, "fan"):
		fan = part
	case info == "store":
		store = strings.Replace(part, "probe = [", "probe = [ "+soil, 1)
	default:
		house = strings.Replace(part, "probe = [", "probe = [ "+air, 1)
	}
	return `zone = "Europe/Rome"
site = { latitude = 45.6, longitude = 11.5 }
season = { topping_up = "09-20", first_frost = "11-05", last_frost = "04-10" }
[[house]]
name = "Fern Hollow"
crop = "spinach"
` + house + "\n[[house.store]]\nname = \"beds\"\n" + store + "\n" + fan
}

func TestSettingsInTheGuideAreGood(t *testing.T) {
	found := 0
	for _, g := range guides(t) {
		infos, texts := g.blocks("toml")
		for i, text := range texts {
			found++
			farm := text
			if infos[i] != "farm" {
				farm = around(infos[i], text)
			}
			if _, err := config.Parse(g.path, []byte(farm), nil); err != nil {
				t.Errorf("%s, block %d: %v\n%s", g.path, i+1, err, text)
			}
		}
	}
	if found < 10 {
		t.Errorf("%d blocks of settings are found; the pages have more", found)
	}
}

// A part that is wrong must not be hidden by the farm around it.
func TestFaultsInAPartOfSettingsAreFound(t *testing.T) {
	for _, c := range []struct{ name, info, part, want string }{
		{"a wrong key", "", `probe = [ { role = "smoke", driver = "contact", pin = "GPIO23", plcae = "crop" } ]`, "unknown key `plcae`"},
		{"no pin", "store", `probe = [ { role = "pipe-water", driver = "contact" } ]`, "pin"},
		{"no flow", "", `fan = [ { name = "east", driver = "relay", pin = "GPIO17", power = "450 W" } ]`, "flow"},
		{"a probe that belongs to a store", "", `probe = [ { role = "pipe-water", driver = "contact", pin = "GPIO22" } ]`, "belongs to a store"},
	} {
		_, err := config.Parse("part", []byte(around(c.info, c.part)), nil)
		if faults := config.Faults(nil); !errors.As(err, &faults) || len(faults) != 1 || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; want that fault alone", c.name, err)
		}
	}
}

// inText is a command within a sentence.
var inText = regexp.MustCompile("`(loambank [^`\n]+)`")

// Each command stands in the program, with the flags that the guide gives it.
func TestCommandsInTheGuideExist(t *testing.T) {
	program := filepath.Join(t.TempDir(), "loambank")
	build := exec.CommandContext(t.Context(), "go", "build", "-o", program, "loambank/cmd/loambank")
	if said, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	lines := map[string]string{} // to the page
	for _, g := range guides(t) {
		_, texts := g.blocks("sh")
		for line := range strings.Lines(strings.Join(texts, "\n")) {
			if line = strings.TrimSpace(line); strings.HasPrefix(line, "loambank ") {
				lines[line] = g.path
			}
		}
		for _, m := range inText.FindAllStringSubmatch(g.text, -1) {
			lines[m[1]] = g.path
		}
	}
	for _, command := range []string{"probes", "check farm.toml", "check --wiring farm.toml", "run --config farm.toml", "safe --config farm.toml"} {
		if lines["loambank "+command] == "" {
			t.Errorf("the guide leaves out loambank %s", command)
		}
	}
	for line, page := range lines {
		words := regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(line, -1)[1:]
		for i := range words {
			words[i] = strings.Trim(words[i], `"`)
		}
		said, err := exec.CommandContext(t.Context(), program, append(words, "--help")...).CombinedOutput()
		if err != nil { // help is only given for a line that the program understands
			t.Errorf("%s: %s: %v: %s", page, line, err, said)
		}
	}
}

// anchor is the name of a heading in links: letters, digits and hyphens.
func anchor(heading string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ':
			return '-'
		case r == '-', r == '_', unicode.IsLetter(r), unicode.IsDigit(r):
			return unicode.ToLower(r)
		}
		return -1
	}, heading)
}

var (
	link    = regexp.MustCompile(`\]\(([^)]*)\)`)
	heading = regexp.MustCompile(`(?m)^#+ (.*)$`)
)

func TestLinksInTheGuideLeadSomewhere(t *testing.T) {
	for _, g := range guides(t) {
		prose := fence.ReplaceAllString(g.text, "")
		links := link.FindAllStringSubmatch(prose, -1)
		if len(links) < 5 {
			t.Errorf("%s: %d links; it has more", g.path, len(links))
		}
		for _, m := range links {
			file, at, _ := strings.Cut(m[1], "#")
			to := filepath.Join(filepath.Dir(g.path), file)
			if file == "" {
				to = g.path
			}
			text, err := os.ReadFile(to)
			if err != nil {
				t.Errorf("%s: link %s: %v", g.path, m[1], err)
				continue
			}
			var anchors []string
			for _, h := range heading.FindAllStringSubmatch(fence.ReplaceAllString(string(text), ""), -1) {
				anchors = append(anchors, anchor(h[1]))
			}
			if at != "" && !slices.Contains(anchors, at) {
				t.Errorf("%s: link %s: no such heading among %q", g.path, m[1], anchors)
			}
		}
	}
}
