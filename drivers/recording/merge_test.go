package recording

import (
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func reader(t interface{ Fatal(...any) }, text string) *Reader {
	r, err := NewReader(strings.NewReader(text), Options{Name: "x.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestMerge(t *testing.T) {
	m := Merge(
		reader(t, "time,l/air_degC,x\n2026-01-31T16:00:00Z,1,2\n2026-01-31T16:20:00Z,3,4\n"),
		reader(t, "time,y,l/air_degF\n2026-01-31T15:00:00Z,5,50\n2026-01-31T17:20:00+01:00,6,\n2026-01-31T16:30:00Z,7,59\n"),
		reader(t, "time,z\n"),
	)
	var headers []string
	for i, c := range m.Columns() {
		headers = append(headers, c.Header)
		if c.Index != i {
			t.Errorf("column %s has index %d; want %d", c.Header, c.Index, i)
		}
	}
	// The air of house l is one column, in whichever unit a recording has it.
	if d := cmp.Diff([]string{"l/air_degC", "x", "y", "z"}, headers); d != "" {
		t.Errorf("columns (-want +got):\n%s", d)
	}
	rows, err := all(m)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff([]string{"2026-01-31T15:00:00Z", "2026-01-31T16:00:00Z", "2026-01-31T16:20:00Z", "2026-01-31T16:30:00Z"}, times(rows)); d != "" {
		t.Errorf("times (-want +got):\n%s", d)
	}
	var values [][]float64
	var ok [][]bool
	var lines []int
	for _, r := range rows {
		values, ok, lines = append(values, r.Values), append(ok, r.OK), append(lines, r.Line)
	}
	if d := cmp.Diff([][]float64{{10, 0, 5, 0}, {1, 2, 0, 0}, {3, 4, 6, 0}, {15, 0, 7, 0}}, values); d != "" {
		t.Errorf("values (-want +got):\n%s", d)
	}
	if d := cmp.Diff([][]bool{{true, false, true, false}, {true, true, false, false}, {true, true, true, false}, {true, false, true, false}}, ok); d != "" {
		t.Errorf("ok (-want +got):\n%s", d)
	}
	if d := cmp.Diff([]int{2, 2, 3, 4}, lines); d != "" {
		t.Errorf("lines (-want +got):\n%s", d)
	}
	if d := cmp.Diff(Stats{Rows: 5, Missing: 1}, m.Stats()); d != "" {
		t.Errorf("stats (-want +got):\n%s", d)
	}
}

func TestMergeOfTwoValuesTakesTheLaterRecording(t *testing.T) {
	m := Merge(reader(t, "time,a\n2026-01-31T16:00:00Z,1\n"), reader(t, "time,a\n2026-01-31T16:00:00Z,2\n"))
	rows, err := all(m)
	if err != nil || len(rows) != 1 || rows[0].Values[0] != 2 {
		t.Errorf("got %v, %v; want one row with 2", rows, err)
	}
}

func TestMergeGivesAFaultAfterTheRowsBeforeIt(t *testing.T) {
	m := Merge(reader(t, "time,a\n2026-01-31T16:00:00Z,1\n2026-01-31T16:10:00Z,x\n"), reader(t, "time,b\n2026-01-31T15:00:00Z,2\n"))
	rows, err := all(m)
	if err == nil || len(rows) != 2 || !strings.HasPrefix(err.Error(), "x.csv:3: ") {
		t.Errorf("got %d rows and %v; want 2 rows and the fault of line 3", len(rows), err)
	}
	if again := m.Next(new(Row)); again == nil || again == io.EOF {
		t.Errorf("afterwards %v; want the fault to last", again)
	}
}

func TestMergeHasEachTimeOnceInOrder(t *testing.T) {
	base := time.Date(2026, 1, 31, 0, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		var readers []*Reader
		met := map[int]bool{}
		for i := range rapid.IntRange(1, 4).Draw(t, "recordings") {
			minutes := rapid.SliceOfNDistinct(rapid.IntRange(0, 60), 0, 30, rapid.ID).Draw(t, "minutes")
			slices.Sort(minutes)
			text := "time," + string(rune('a'+i)) + "\n"
			for _, m := range minutes {
				met[m] = true
				text += base.Add(time.Duration(m)*time.Minute).Format(time.RFC3339) + ",1\n"
			}
			readers = append(readers, reader(t, text))
		}
		rows, err := all(Merge(readers...))
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) != len(met) {
			t.Fatalf("%d rows; want one for each of %d times", len(rows), len(met))
		}
		for i, r := range rows {
			if !met[int(r.Time.Sub(base)/time.Minute)] || i > 0 && !r.Time.After(rows[i-1].Time) {
				t.Fatalf("row %d at %v is out of order or made up", i, r.Time)
			}
		}
	})
}
