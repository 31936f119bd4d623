package recording

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Column is one column of values.
type Column struct {
	Header string // as written, without spaces around it
	// House, Store and Probe are the parts of a header <house>/<probe>_<unit> or
	// <house>/<store>/<probe>_<unit>; all are empty where it has another form, Store also where
	// the probe belongs to the house.
	House, Store, Probe string
	Unit                string // as written at the header's end, "" where no known unit stands there
	SI                  string // unit of the values given: "degC", "W", "1" for shares and contacts, or "" as written
	Index               int    // place in Row.Values
}

// measure is a unit that a header may end in: a value v is (v − zero) × num / den in SI.
type measure struct {
	name, si       string
	zero, num, den float64
}

var measures = [...]measure{
	{"degC", "degC", 0, 1, 1},
	{"degF", "degC", 32, 1, 1.8}, // 1.8 keeps multiples of 9 °F exact
	{"K", "degC", 273.15, 1, 1},
	{"percent", "1", 0, 1, 100},
	{"fraction", "1", 0, 1, 1},
	{"ratio", "1", 0, 1, 1},
	{"contact", "1", 0, 1, 1},
	{"W", "W", 0, 1, 1},
	{"kW", "W", 0, 1000, 1},
	{"ppm", "ppm", 0, 1, 1},
	{"lux", "lux", 0, 1, 1},
	{"Wm2", "Wm2", 0, 1, 1},
	{"Bqm3", "Bqm3", 0, 1, 1},
	{"m3s", "m3s", 0, 1, 1},
	{"m3h", "m3s", 0, 1, 3600},
	{"cfm", "m3s", 0, 0.3048 * 0.3048 * 0.3048, 60},
	{"ms", "ms", 0, 1, 1},
	{"Pa", "Pa", 0, 1, 1},
	{"hPa", "Pa", 0, 100, 1},
	{"kPa", "Pa", 0, 1000, 1},
	{"mm", "mm", 0, 1, 1},
}

// split takes the unit and the names out of a header.
func split(header string) (Column, measure) {
	c := Column{Header: header}
	cut := strings.LastIndexByte(header, '_')
	if cut < 0 {
		return c, measure{num: 1, den: 1}
	}
	for _, m := range measures {
		if m.name == header[cut+1:] {
			c.Unit, c.SI = m.name, m.si
			c.name(strings.Split(header[:cut], "/"))
			return c, m
		}
	}
	return c, measure{num: 1, den: 1}
}

func (c *Column) name(parts []string) {
	for _, p := range parts {
		if p == "" {
			return
		}
	}
	switch len(parts) {
	case 2:
		c.House, c.Probe = parts[0], parts[1]
	case 3:
		c.House, c.Store, c.Probe = parts[0], parts[1], parts[2]
	}
}

// same is equal for columns that hold the same thing.
func (c *Column) same() string {
	if c.House == "" {
		return c.Header
	}
	return c.House + "/" + c.Store + "/" + c.Probe + " " + c.SI
}

// header reads the first line.
func (r *Reader) header(cells []string) error {
	r.timeAt = -1
	seen := map[string]string{}
	for i, cell := range cells {
		cell = strings.TrimSpace(cell)
		switch {
		case strings.Contains(cell, "\r"):
			return r.at(1, "%s", onlyCR)
		case !utf8.ValidString(cell):
			return r.at(1, "header %d, %s, is not UTF-8; save the file in UTF-8", i+1, show(cell))
		case cell == "":
			return r.at(1, "column %d has no header; name it or remove it", i+1)
		case cell == r.o.TimeColumn && r.timeAt >= 0:
			return r.at(1, "two columns are headed %s", show(cell))
		case cell == r.o.TimeColumn:
			r.timeAt = i
			continue
		}
		c, m := split(cell)
		c.Index = len(r.columns)
		if other, twice := seen[c.same()]; twice {
			return r.at(1, "columns %s and %s hold the same probe; keep one", show(other), show(cell))
		}
		seen[c.same()] = cell
		r.columns = append(r.columns, c)
		r.measures = append(r.measures, m)
	}
	if r.timeAt < 0 {
		return r.at(1, "no column is headed %s; the headers are %s", show(r.o.TimeColumn), listed(cells))
	}
	return nil
}

// listed names the first few headers.
func listed(cells []string) string {
	const most = 8
	var b strings.Builder
	for i, c := range cells {
		if i == most {
			fmt.Fprintf(&b, " and %d more", len(cells)-most)
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(show(strings.TrimSpace(c)))
	}
	return b.String()
}
