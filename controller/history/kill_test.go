package history_test

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// TestMain lets the test program be run as one that records until it is killed.
func TestMain(m *testing.M) {
	if dir := os.Getenv("HISTORY_TEST_DIR"); dir != "" {
		recordForEver(dir)
	}
	os.Exit(m.Run())
}

// recordForEver writes ticks whose first reading is their number, and tells of the last of each
// flush.
func recordForEver(dir string) {
	began := time.Date(2026, time.November, 25, 6, 0, 0, 0, time.UTC)
	db, notes, err := history.Open(dir, began, nil)
	if err != nil || notes.Aside != nil {
		fmt.Println(err, notes)
		os.Exit(1)
	}
	s := &house.Settings{Name: "Fern Hollow", Probes: make([]house.Probe, 1)}
	n, err := strconv.Atoi(os.Getenv("HISTORY_TEST_FROM"))
	if err != nil {
		os.Exit(1)
	}
	db.Begin(history.Begin{House: s, Now: began.Add(time.Duration(n) * 10 * time.Second), Settings: []byte("units = \"us\"\n")})
	for ; ; n++ {
		seen := house.Seen{StepS: 10, Believed: true, Raw: []judge.Raw{{Value: float64(n), OK: true}}}
		db.Keep()
		db.Record(s.Name, began.Add(time.Duration(n)*10*time.Second), &seen, &house.Result{}, nil)
		if n%23 == 22 {
			if err := db.Flush(); err != nil {
				fmt.Println(err)
				os.Exit(1)
			}
			fmt.Println(n)
		}
	}
}

// TestKilledWhileWriting kills a program that writes without a pause. Each time all that it told of
// is there, in order and whole, and the next one goes on from it.
func TestKilledWhileWriting(t *testing.T) {
	dir := t.TempDir()
	next, told := 0, -1
	for k := range 12 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), "HISTORY_TEST_DIR="+dir, "HISTORY_TEST_FROM="+strconv.Itoa(next))
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for range 1 + k*7%11 {
			if !lines.Scan() {
				t.Fatal("it ended by itself")
			}
			if told, err = strconv.Atoi(lines.Text()); err != nil {
				t.Fatalf("it says %s", lines.Text())
			}
		}
		cmd.Process.Kill()
		for lines.Scan() { // it may have got further until the kill reached it
			if n, err := strconv.Atoi(lines.Text()); err == nil {
				told = n
			}
		}
		cmd.Wait()
		last := -1
		r := reader(t, dir)
		for e, err := range r.Journal("Fern Hollow", time.Unix(0, 0), time.Unix(1<<33, 0)) {
			switch {
			case err != nil || e.Gap:
				t.Fatalf("after %d: %+v, %v", last, e, err)
			case e.Mark == nil:
				if n := int(e.Seen.Raw[0].Value); n != last+1 {
					t.Fatalf("tick %d after %d", n, last)
				}
				last++
			}
		}
		if last < told || r.Damaged() != 0 {
			t.Fatalf("it told of tick %d; the last is %d, %d damaged", told, last, r.Damaged())
		}
		r.Close()
		next = last + 1
	}
}
