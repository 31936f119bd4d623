package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

const (
	// soakSpeed makes ninety days thirteen minutes, and a tick of a minute 6 ms: two cores keep up
	// with every tick of two houses, and with its journal.
	soakSpeed = 10000
	// soakDays is how many days the farm lives where LONG_SOAK_DAYS does not say.
	soakDays = 1
	// settledDays is from when on thirds are compared: a journal grows for its first thirty days.
	settledDays = 90
)

// What may be more in the last third of a soak than in the middle one. Common practice, no source.
const (
	moreFiles  = 4
	moreHeapMB = 1.0 // after a collection, as the collector tells, in whole MB
	moreDisk   = 5e6 // bytes over what the middle third has added: SQLite's log goes up and down by 4 MB
)

// TestSoak lets the program live for days on simulated houses, scraped all the time, and wants it to
// be as large at the end as in the middle, with not a tick missing in its journal.
func TestSoak(t *testing.T) {
	days := soakDays
	if text := os.Getenv("LONG_SOAK_DAYS"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			t.Fatalf("LONG_SOAK_DAYS is %q; it is a whole number from 1", text)
		}
		days = n
	}
	c := newKilled(t)
	text := strings.ReplaceAll(fmt.Sprintf(killFarm, c.dir), `tick   = "10 s"`, `tick   = "1 min"`)
	if err := os.WriteFile(c.settings, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	young := c.soak(2 * time.Second)
	old := c.soak(time.Duration(float64(days) * 86400 / soakSpeed * float64(time.Second)))
	middle, last := old.thirds[1], old.thirds[2]
	t.Logf("%d days, %d scrapes; in the middle and the last third: %v", days, old.scrapes, old.thirds[1:])
	t.Logf("goroutines: %d young, %d old; history dropped %v ticks", young.goroutines, old.goroutines, old.dropped)
	if young.dropped+old.dropped != 0 {
		t.Errorf("%v ticks are in no journal", young.dropped+old.dropped)
	}
	if young.goroutines == 0 || old.goroutines > young.goroutines+2 { // two for a scrape under way
		t.Errorf("it has %d goroutines, had %d when it was young", old.goroutines, young.goroutines)
	}
	if last.files > middle.files+moreFiles || last.files == 0 {
		t.Errorf("it has %d files open, had %d", last.files, middle.files)
	}
	if days < settledDays {
		return
	}
	if last.heapMB > middle.heapMB+moreHeapMB || last.heapMB == 0 {
		t.Errorf("after collections it has %v MB, had %v", last.heapMB, middle.heapMB)
	}
	if last.added() > middle.added()+moreDisk {
		t.Errorf("its state grew by %d bytes, by %d in the third before", last.added(), middle.added())
	}
}

// soaked is what became of a program that lived for a while.
type soaked struct {
	thirds     [3]third
	goroutines int
	scrapes    int
	dropped    float64
}

// third is the most that was seen in a third of a life.
type third struct {
	files        int
	heapMB       float64
	bytes, begin int64 // of the state directory, at its end and its begin
}

func (p third) added() int64 { return p.bytes - p.begin }

// String tells it for a log.
func (p third) String() string {
	return fmt.Sprintf("%d files open, %.0f MB after collections, %d bytes of state (+%d)", p.files, p.heapMB, p.bytes, p.added())
}

// collected is how much the collector found alive, MB. See GODEBUG=gctrace in the docs of package runtime.
var collected = regexp.MustCompile(`^gc \d+ @.*->(\d+) MB, `)

// soak runs the program for that long, and ends it with a signal that has it list its goroutines.
func (c *killed) soak(long time.Duration) (s soaked) {
	c.t.Helper()
	cmd, told := c.command("run", "--speed", strconv.Itoa(soakSpeed))
	cmd.Env = append(cmd.Env, "GODEBUG=gctrace=1", "GOTRACEBACK=all")
	began := time.Now()
	if err := cmd.Start(); err != nil {
		c.t.Fatal(err)
	}
	var at []time.Duration
	for k := range s.thirds {
		p := &s.thirds[k]
		p.begin = c.size()
		for time.Since(began) < long*time.Duration(k+1)/3 {
			if now, ok := c.metrics(); ok {
				s.scrapes++
				s.dropped = now["loambank_history_dropped_ticks"]
			}
			fds, err := os.ReadDir(fmt.Sprintf("/proc/%d/fd", cmd.Process.Pid))
			if err != nil {
				c.t.Errorf("it has ended: %v", err)
			}
			p.files = max(p.files, len(fds))
			time.Sleep(50 * time.Millisecond)
		}
		p.bytes = c.size()
		at = append(at, time.Since(began))
	}
	if err := cmd.Process.Signal(syscall.SIGQUIT); err != nil {
		c.t.Errorf("it had ended by itself: %v", err)
	}
	if err := cmd.Wait(); err == nil {
		c.t.Error("the signal did not end it")
	}
	for line := range strings.Lines(told.String()) {
		if strings.HasPrefix(line, "goroutine ") {
			s.goroutines++
		}
		m := collected.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		alive, err := strconv.ParseFloat(m[1], 64)
		_, rest, _ := strings.Cut(line, "@")
		second, _, _ := strings.Cut(rest, "s ")
		when, fault := strconv.ParseFloat(second, 64)
		if err != nil || fault != nil {
			c.t.Fatalf("the collector says %q", line)
		}
		k := 0
		for k < 2 && when > at[k].Seconds() {
			k++
		}
		s.thirds[k].heapMB = max(s.thirds[k].heapMB, alive)
	}
	return s
}

// size is what the state directory holds, bytes.
func (c *killed) size() (n int64) {
	c.t.Helper()
	err := filepath.WalkDir(c.state, func(_ string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return nil // a passing file
		}
		if info, err := e.Info(); err == nil {
			n += info.Size()
		}
		return nil
	})
	if err != nil {
		c.t.Fatal(err)
	}
	return n
}
