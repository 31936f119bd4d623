package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const (
	epwHeader = 8 // lines
	epwHours  = 8760
)

// epwLines are the lines of a weather file of the tests, each with its end.
func epwLines(t *testing.T, name string) []string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "weather", name+".epw.gz"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n")
	return lines[:epwHeader+epwHours]
}

// fahrenheit rewrites the dry bulb of every hour.
func fahrenheit(lines []string) []string {
	out := append([]string{}, lines...)
	for i := epwHeader; i < len(out); i++ {
		cells := strings.Split(out[i], ",")
		c, _ := strconv.ParseFloat(cells[6], 64)
		cells[6] = fmt.Sprintf("%.1f", c*9/5+32)
		out[i] = strings.Join(cells, ",")
	}
	return out
}

// leap gives the year a 29 February of which the last hour is missing: 8,783 hours.
func leap(lines []string) []string {
	const march = epwHeader + 59*24
	out := append([]string{}, lines[:march]...)
	for _, row := range lines[march-24 : march-1] {
		out = append(out, strings.Replace(row, ",2,28,", ",2,29,", 1))
	}
	return append(out, lines[march:]...)
}

// mirrored is the year half a year on, at the place's latitude in the south.
func mirrored(lines []string) []string {
	out := append([]string{}, lines...)
	out[0] = strings.Replace(out[0], ",37.52,-77.32,-5.0,", ",-37.52,147.68,10.0,", 1)
	for i := range epwHours {
		stamp := strings.SplitN(lines[epwHeader+i], ",", 5)
		from := strings.SplitN(lines[epwHeader+(i+182*24)%epwHours], ",", 5)
		out[epwHeader+i] = strings.Join(append(stamp[:4:4], from[4]), ",")
	}
	return out
}

// TestYearsThatAreNone runs the command on the files and settings that people get wrong.
func TestYearsThatAreNone(t *testing.T) {
	richmond := epwLines(t, "USA_VA_Richmond.Intl.AP.724010_TMY3")
	farm, err := os.ReadFile(filepath.Join("..", "..", "testdata", "config", "example.toml"))
	if err != nil {
		t.Fatal(err)
	}
	each := func(change func(string) string) []string {
		out := append([]string{}, richmond...)
		for i := epwHeader; i < len(out); i++ {
			out[i] = change(out[i])
		}
		return out
	}
	south := strings.NewReplacer("latitude = 43.1, longitude = -75.2", "latitude = -37.5, longitude = 147.7", "America/New_York", "Australia/Melbourne",
		`topping_up = "09-10", first_frost = "10-05", last_frost = "05-12"`, `topping_up = "03-10", first_frost = "04-05", last_frost = "11-12"`)
	for _, c := range []struct {
		name   string
		rows   []string
		farm   string
		code   int
		stderr []string
		stdout []string
	}{
		{"a file cut in a row", append(richmond[:4000:4000], richmond[4000][:30]), "", exitCannot, []string{"year.epw:4001: ", "35"}, nil},
		{"a file cut between rows", richmond[:4000], "", exitCannot, []string{"year.epw:4000: ", "8760"}, nil},
		{"a column too few", each(func(row string) string { _, rest, _ := strings.Cut(row, ","); return rest }), "", exitCannot, []string{"year.epw:9: "}, nil},
		{"columns swapped", each(func(row string) string {
			cells := strings.Split(row, ",")
			cells[6], cells[9] = cells[9], cells[6] // air and pressure
			return strings.Join(cells, ",")
		}), "", exitCannot, []string{"year.epw:9: dry bulb is"}, nil},
		{"8,783 hours", leap(richmond), "", exitCannot, []string{"03-01 hour 1 stands where 02-29 hour 24 should"}, nil},
		{"an hour 24 that is written as the next day's 0", each(func(row string) string { return strings.Replace(row, ",24,", ",0,", 1) }), "", exitCannot, []string{"hour 0", "1 to 24"}, nil},
		{"Fahrenheit by mistake", fahrenheit(richmond), "", exitCannot, []string{"Fahrenheit"}, nil},
		{"a house of 3 km", richmond, strings.Replace(string(farm), `"96 ft"`, `"3000 m"`, 1), exitNo, []string{`house[0].length: "3000 m" is out of range`}, nil},
		{"a frost limit of 200 °F", richmond, strings.Replace(string(farm), `frost    = "35 °F"`, `frost    = "200 °F"`, 1), exitNo, []string{"house[0].frost"}, nil},
		{"pipes wider than their spacing", richmond, strings.Replace(string(farm), `depth = "18 in" }`, `depth = "18 in", diameter = "22 in" }`, 1), exitCannot, []string{"store beds", "too near each other"}, nil},
		{"water that no soil holds", richmond, strings.Replace(string(farm), "cover    =", "soil     = { texture = \"sand\", moisture = \"45 %\" }\ncover    =", 1), exitNo, []string{"more than sand holds"}, nil},
		{"the southern half of the Earth", mirrored(richmond), south.Replace(string(farm)), exitGood, nil, []string{"January", "whole year"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			year, settings := filepath.Join(dir, "year.epw"), filepath.Join(dir, "farm.toml")
			if c.farm == "" {
				c.farm = string(farm)
			}
			for path, text := range map[string]string{year: strings.Join(c.rows, ""), settings: c.farm} {
				if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			var stdout, stderr bytes.Buffer
			if code := run(context.Background(), []string{"season", "--config", settings, "--weather", year}, &stdout, &stderr); code != c.code {
				t.Errorf("exit code %d, want %d", code, c.code)
			}
			for _, want := range c.stderr {
				if !strings.Contains(stderr.String(), want) {
					t.Errorf("%q is not in:\n%s", want, stderr.String())
				}
			}
			for _, want := range c.stdout {
				if !strings.Contains(stdout.String(), want) {
					t.Errorf("%q is not in:\n%s", want, stdout.String())
				}
			}
			if c.code == exitGood {
				southern(t, stdout.String())
			}
		})
	}
}

// southern wants a year that begins in January and needs its heater in July.
func southern(t *testing.T, out string) {
	t.Helper()
	_, never, _ := strings.Cut(out, "Never running its fans")
	heater := map[string]float64{}
	first := ""
	for line := range strings.Lines(never) {
		cells := strings.Fields(line)
		if len(cells) == 11 && cells[0] != "month" {
			if first == "" {
				first = cells[0]
			}
			if _, seen := heater[cells[0]]; !seen {
				heater[cells[0]], _ = strconv.ParseFloat(cells[10], 64)
			}
		}
	}
	if first != "January" || heater["July"] < 100 || heater["July"] < 10*heater["January"] {
		t.Errorf("the year begins with %s; the heater gives %v kWh in July and %v in January", first, heater["July"], heater["January"])
	}
}
