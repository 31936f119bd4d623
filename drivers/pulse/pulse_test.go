package pulse

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"loambank/drivers/chip/chiptest"
	"loambank/drivers/device"
)

// bench is a line that is told what happens on it.
type bench struct {
	Record
	fail   error
	closed int
}

func (b *bench) String() string { return "GPIO23" }
func (b *bench) Close() error   { b.closed++; return nil }

func (b *bench) Take() (Record, error) {
	if b.fail != nil {
		return Record{}, b.fail
	}
	r := b.Record
	b.Edges, b.Missed = nil, false
	return r, nil
}

// pulse puts one pulse of 30 ms on the line.
func (b *bench) pulse(at time.Duration) {
	b.Edges = append(b.Edges, Edge{at, true}, Edge{at + 30*time.Millisecond, false})
}

func meter(t *testing.T, perKWh float64) (*Probe, *bench) {
	t.Helper()
	b := &bench{}
	b.Missed = true
	p, err := New(b, Options{Name: "lower/beds/power", PerKWh: perKWh})
	if err != nil {
		t.Fatal(err)
	}
	return p, b
}

func seconds(s float64) time.Duration { return time.Duration(math.Round(s * 1e9)) }

func TestReferenceRowsOfPower(t *testing.T) {
	for _, row := range chiptest.Rows(t, "S0 pulse interval") { // sensors-S100 to S104
		p, b := meter(t, row.Float(t, "imp_per_kWh"))
		gap := seconds(row.Float(t, "dt_s"))
		for i := range 3 {
			b.pulse(time.Second + time.Duration(i)*gap)
		}
		b.Now = time.Second + 2*gap + 50*time.Millisecond
		if v, err := p.Read(t.Context()); err != nil || math.Abs(v-row.Expected[0]) > 1e-3*row.Expected[0] {
			t.Errorf("%s: %v W, %v; want %v", row.ID, v, err, row.Expected[0])
		}
	}
}

func TestAFanThatStartsRunsAndStops(t *testing.T) {
	p, b := meter(t, 1000)
	read := func(name string, now float64, want float64) {
		t.Helper()
		b.Now = seconds(now)
		v, err := p.Read(t.Context())
		if want < 0 {
			if !errors.Is(err, errFew) || v != 0 {
				t.Errorf("%s: %v W, %v; want that no two pulses have come", name, v, err)
			}
			return
		}
		if err != nil || math.Abs(v-want) > 1e-9*want {
			t.Errorf("%s: %v W, %v; want %v", name, v, err, want)
		}
	}
	read("just opened", 1, -1)
	read("before five minutes", 300.9, -1)
	read("after five minutes of silence at most 12 W", 301, 12)
	read("and less after ten", 601, 6)
	b.pulse(seconds(701))
	read("one pulse in 700 s, so at most", 702, 3600./700)
	b.pulse(seconds(704.6))
	read("two pulses 3.6 s apart", 705, 1000) // sensors-S100
	b.pulse(seconds(707.2))
	b.pulse(seconds(709.2))
	read("the last of several counts", 710, 1800)
	read("not late yet", 711.2, 1800)
	read("late by as much again", 713.2, 900)
	read("a minute after it stopped", 769.2, 60)
	read("an hour after it stopped", 709.2+3600, 1)
	b.pulse(seconds(709.2 + 7200))
	read("one pulse after two hours", 709.2+7200.1, 0.5) // sensors-S104
}

func TestOnlyWhatLastsIsAPulse(t *testing.T) {
	ms := func(at int, low bool) Edge { return Edge{time.Duration(at) * time.Millisecond, low} }
	for _, tt := range []struct {
		name  string
		edges []Edge
		want  time.Duration // between the last two pulses; 0 for fewer
	}{
		{"two clean ones", []Edge{ms(1000, true), ms(1030, false), ms(2000, true), ms(2030, false)}, time.Second},
		{"one", []Edge{ms(1000, true), ms(1030, false)}, 0},
		{"one that bounces as it closes", []Edge{ms(1000, true), ms(1002, false), ms(1003, true), ms(1040, false), ms(2003, true), ms(2033, false)}, time.Second},
		{"one that bounces as it opens", []Edge{ms(1000, true), ms(1030, false), ms(1033, true), ms(1035, false), ms(2000, true), ms(2030, false)}, time.Second},
		{"crosstalk of 14 ms", []Edge{ms(1000, true), ms(1014, false), ms(2000, true), ms(2014, false)}, 0},
		{"15 ms are enough", []Edge{ms(1000, true), ms(1015, false), ms(2000, true), ms(2015, false)}, time.Second},
		{"a gap of 14 ms does not part two", []Edge{ms(1000, true), ms(1030, false), ms(1044, true), ms(1080, false)}, 0},
		{"a gap of 15 ms does", []Edge{ms(1000, true), ms(1030, false), ms(1045, true), ms(1080, false)}, 45 * time.Millisecond},
		{"the second still closed", []Edge{ms(1000, true), ms(1030, false), ms(3970, true)}, 2970 * time.Millisecond},
		{"the second closed a moment ago", []Edge{ms(1000, true), ms(1030, false), ms(3990, true)}, 0},
		{"an opening that was not told", []Edge{ms(1000, true), ms(2000, true), ms(2030, false)}, 0},
	} {
		c := counter{debounce: Debounce}
		c.add(Record{Edges: tt.edges, Now: 4 * time.Second})
		if c.interval != tt.want {
			t.Errorf("%s: %v between two; want %v", tt.name, c.interval, tt.want)
		}
	}
}

func TestAGapBeginsAnew(t *testing.T) {
	p, b := meter(t, 1000)
	b.pulse(seconds(10))
	b.pulse(seconds(13.6))
	b.Now = seconds(14)
	if v, err := p.Read(t.Context()); v != 1000 || err != nil {
		t.Fatalf("%v, %v; want 1000 W", v, err)
	}
	b.fail = device.ErrAbsent
	if v, err := p.Read(t.Context()); v != 0 || !errors.Is(err, device.ErrAbsent) || err.Error() != "probe lower/beds/power at GPIO23: the device is not there" {
		t.Errorf("unplugged: %v, %v; want ErrAbsent", v, err)
	}
	b.fail, b.Missed, b.Now = nil, true, seconds(1) // its time begins anew as well
	if v, err := p.Read(t.Context()); v != 0 || !errors.Is(err, errFew) {
		t.Errorf("plugged back: %v, %v; want two pulses awaited", v, err)
	}
	b.pulse(seconds(2))
	b.pulse(seconds(4))
	b.Now = seconds(5)
	if v, err := p.Read(t.Context()); v != 1800 || err != nil {
		t.Errorf("after two: %v, %v; want 1800 W", v, err)
	}
	b.Missed = true // the kernel could not keep them all
	b.pulse(seconds(1000))
	b.Now = seconds(1001)
	if v, err := p.Read(t.Context()); v != 0 || !errors.Is(err, errFew) {
		t.Errorf("after a gap in what was noted: %v, %v; want two pulses awaited", v, err)
	}
	if err := errors.Join(p.Close(), p.Close()); err != nil || b.closed != 1 {
		t.Errorf("%v, closed %d times; want once", err, b.closed)
	}
	if _, err := p.Read(t.Context()); !errors.Is(err, os.ErrClosed) {
		t.Errorf("after Close: %v; want ErrClosed", err)
	}
}

func TestRefused(t *testing.T) {
	for _, n := range []float64{0, -1000, 0.01, 1e7, math.NaN(), math.Inf(1)} {
		if p, err := New(&bench{}, Options{Name: "p", PerKWh: n}); p != nil || err == nil || !strings.Contains(err.Error(), "pulses for one kWh") {
			t.Errorf("%v pulses: %v; want it refused", n, err)
		}
	}
}

// However the line bounces and however the reads cut its edges up, what is counted is the same,
// and the power is finite.
func TestReadsDoNotChangeWhatIsCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gaps := rapid.SliceOfN(rapid.IntRange(1, 60), 1, 60).Draw(t, "gaps")
		var edges []Edge
		at, low := time.Duration(0), true
		for _, g := range gaps {
			at += time.Duration(g) * time.Millisecond
			edges = append(edges, Edge{at, low})
			low = !low
		}
		end := at + time.Second
		whole, parts := counter{debounce: Debounce}, counter{debounce: Debounce}
		whole.add(Record{Edges: edges, Now: end})
		cut := rapid.IntRange(0, len(edges)).Draw(t, "cut")
		then := end
		if cut < len(edges) {
			then = edges[cut].At
		}
		parts.add(Record{Edges: edges[:cut], Now: then})
		parts.add(Record{Edges: edges[cut:], Now: end})
		if whole != parts {
			t.Fatalf("whole %+v, in parts %+v", whole, parts)
		}
		p := Probe{o: Options{PerKWh: 1000}, count: whole}
		if v, err := p.powerW(end); err == nil && !(v >= 0 && !math.IsInf(v, 0)) {
			t.Fatalf("%v W", v)
		}
	})
}
