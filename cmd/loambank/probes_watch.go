package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"loambank/drivers/device"
	"loambank/drivers/find"
)

// watchEvery is the time between two looks: a thermometer in a hand gains some kelvins in it.
const watchEvery = 2 * time.Second

// watch reads until ctx is done on a terminal, and once elsewhere.
func (v *survey) watch(ctx context.Context, out io.Writer) error {
	if !terminal(out) {
		v.read(ctx)
		v.list(out)
		return nil
	}
	drawn := 0
	for {
		v.read(ctx)
		if ctx.Err() != nil {
			return nil
		}
		var screen bytes.Buffer
		v.screen(&screen, width(out))
		if drawn > 0 {
			fmt.Fprintf(out, "\x1b[%dA\x1b[J", drawn) // up, and clear what is below
		}
		out.Write(screen.Bytes()) //nolint:errcheck // nothing can be done for a screen that is gone
		drawn = bytes.Count(screen.Bytes(), []byte("\n"))
		if err := device.Sleep(ctx, watchEvery); err != nil {
			return nil //nolint:nilerr // the person has seen enough
		}
	}
}

// list writes a line for each item that can be read, with tabs between.
func (v *survey) list(out io.Writer) {
	for _, i := range v.items {
		if !i.readable() {
			continue
		}
		value, fault := "", ""
		if i.value != nil {
			value = strconv.FormatFloat(*i.value, 'f', -1, 64)
		}
		if i.fault != nil {
			fault = strings.Join(strings.Fields(i.fault.Error()), " ")
		}
		var users []string
		for _, u := range i.users {
			users = append(users, u.Name)
		}
		at := i.At
		if i.Stanza.Driver == "ads1115" {
			at += fmt.Sprintf(" input %d", i.Input)
		}
		fmt.Fprintln(out, strings.Join([]string{
			string(i.Kind), i.Bus, at, i.Measure.String(), value, siUnits[i.Measure], strings.Join(users, ","), fault,
		}, "\t"))
	}
}

// siUnits are those of values for programs.
var siUnits = [...]string{
	find.Nothing: "", find.Temperature: "degC", find.Humidity: "ratio", find.Pressure: "Pa", find.CO2: "ppm",
	find.Voltage: "V", find.Light: "lux",
}

// screen writes readings with their change since the start. The temperature that has risen or fallen
// most is marked, once it has by half a kelvin.
func (v *survey) screen(out io.Writer, columns int) {
	p := sheet{out, columns}
	p.line(pad(pad(pad("  place", readingAt)+"now", useAt)+"since start", useAt+13) + "used for")
	most := v.mostMoved()
	any := false
	for _, i := range v.items {
		if !i.readable() || i.Own {
			continue
		}
		any = true
		moved := ""
		if i.value != nil {
			moved = change(v.display, i.Measure, *i.value-*i.first)
		}
		place := "  " + i.short()
		if i == most {
			place = "> " + i.short()
		}
		text := pad(pad(pad(place, readingAt)+i.shows(v), useAt)+moved, useAt+13) + v.usedFor(i)
		if i.fault != nil {
			text = pad(pad(place, readingAt)+"-", useAt) + i.fault.Error()
		}
		p.line(string([]rune(text)[:min(columns, len([]rune(text)))]))
	}
	if !any {
		p.line("  nothing here can be read; loambank probes says what is missing")
	}
	p.line("Warm a probe in your hand to see which it is. Ctrl-C ends.")
}

// short is the place of an item in one column: of a long path its end, which tells more than its
// beginning.
func (i *item) short() string {
	where := []rune(strings.TrimSuffix(i.where(), "_input"))
	if room := readingAt - placeAt - 1; len(where) > room {
		return "…" + string(where[len(where)-room+1:])
	}
	return string(where)
}

// mostMoved is the item whose temperature has changed most, nil where none has by half a kelvin.
func (v *survey) mostMoved() *item {
	var most *item
	by := 0.5
	for _, i := range v.items {
		if i.value == nil || i.Measure != find.Temperature {
			continue
		}
		if d := math.Abs(*i.value - *i.first); d >= by {
			most, by = i, d
		}
	}
	return most
}
