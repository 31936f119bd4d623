package main

import (
	"bytes"
	"io"
	"maps"
	"math/rand/v2"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"loambank/controller/history"
	"loambank/controller/ledger"
)

const (
	// fewestCuts are made where LONG_CUTS does not say.
	fewestCuts = 300
	// lifeOf is how long a program lives whose calls are traced, pauseOf the time between two visits.
	lifeOf, pauseOf = 3500 * time.Millisecond, 5 * time.Millisecond
	// firstSpeed and secondSpeed are those of the clock: half an hour with many checkpoints, two hours
	// with many commits of the history.
	firstSpeed, secondSpeed = 600, 2400
	// commitS is the time between two commits of the history, with the wait for the other house's. See
	// package history.
	commitS = 1800 + 30
)

// TestThePowerFailsAtAnyWrite lets the program itself, as it is built, live twice with every call
// recorded that changes a file of its state, the second time from what a power cut in the first one
// left. Then it cuts the power at instants all over both lives: what was synced is there, of what was
// not each sector and each name may be. From whatever is left the state must be gone on with, and
// hold all that was ever shown.
func TestThePowerFailsAtAnyWrite(t *testing.T) {
	strace := traceable(t)
	n := fewestCuts
	if text := os.Getenv("LONG_CUTS"); text != "" {
		var err error
		if n, err = strconv.Atoi(text); err != nil || n < 20 {
			t.Fatalf("LONG_CUTS is %q; it is a whole number from 20", text)
		}
	}
	p := &powerCut{killed: newKilled(t), chance: rand.New(rand.NewPCG(20, 26)), shown: map[string]float64{}, memory: memory(t)}
	p.live(strace, "first", firstSpeed)
	p.cut(n / 2)
	p.fromTheMiddle()
	p.live(strace, "second", secondSpeed)
	p.cut(n - n/2)
	t.Logf("%d cuts in %d calls that change files: %d with writes lost, %d with names lost, %d left no ledger; of what the farm told %.0f s were lost at most by the ledger, %.0f s by the history; %d lives from what was left",
		p.cuts, p.calls, p.torn, p.renamed, p.young, p.ledgerS, p.historyS, p.lives)
	if p.cuts != n || p.torn < n/4 || p.renamed < n/10 || p.young > n/4 || len(p.shown) < 20 || p.rows < 100 || p.lives < 4 {
		t.Errorf("nothing is proven: %d series were shown, %d rows synced", len(p.shown), p.rows)
	}
	if max(p.late, p.lateRows)*lateOf > n {
		t.Errorf("%d cuts found the last checkpoint more than its interval old, %d the history", p.late, p.lateRows)
	}
}

// powerCut cuts the power of a farm.
type powerCut struct {
	*killed
	chance *rand.Rand
	memory string            // a folder for what is left
	all    []turn            // of the life that is looked at
	begin  map[string][]byte // what stood there before
	speed  float64

	shown map[string]float64 // counters, of the last scrape before the cut
	told  time.Time          // the last tick that was told of before it
	rows  int                // of the history that was synced before it

	cuts, calls, torn, renamed, young, lives int
	late, lateRows                           int // cuts that found ledger or history more than an interval old
	ledgerS, historyS                        float64
}

// memory is a folder that takes no disk's time, where there is one.
func memory(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "loambank-test-")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// live runs the program on its state directory, with all its calls traced, and ends it.
func (p *powerCut) live(strace, name string, speed int) {
	p.t.Helper()
	p.begin, p.speed = standing(p.t, p.state), float64(speed)
	file := filepath.Join(p.dir, name+".trace")
	cmd, told := p.command("run", "--speed", strconv.Itoa(speed))
	trace(strace, cmd, file)
	if err := cmd.Start(); err != nil {
		p.t.Fatal(err)
	}
	began, halfway := time.Now(), false
	for ; time.Since(began) < lifeOf; time.Sleep(pauseOf) {
		if answers := p.visit("/metrics") && p.visit("/api/v1/farm"); !answers {
			continue
		}
		if !halfway && time.Since(began) > lifeOf/2 {
			halfway = true
			p.change(name)
			if err := cmd.Process.Signal(syscall.SIGHUP); err != nil {
				p.t.Fatal(err)
			}
		}
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		p.t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil || !halfway || !strings.Contains(told.String(), "settings reloaded") {
		p.t.Fatalf("%v\n%s", err, told)
	}
	p.all = events(p.t, file)
}

// visit asks for a page and waits for the whole answer, which the trace then holds unchunked.
func (p *powerCut) visit(page string) bool {
	to, err := net.Dial("tcp", p.address)
	if err != nil {
		return false
	}
	defer to.Close()
	_, asked := io.WriteString(to, "GET "+page+" HTTP/1.0\r\nHost: "+p.address+"\r\n\r\n")
	_, answered := io.Copy(io.Discard, to)
	return asked == nil && answered == nil
}

// change gives the farm an order and other settings.
func (p *powerCut) change(name string) {
	p.t.Helper()
	cmd, told := p.command("hand", "--house", "upper", "off", "--for", "45m")
	if err := cmd.Run(); err != nil {
		p.t.Fatalf("%v\n%s", err, told)
	}
	text, err := os.ReadFile(p.settings)
	if err != nil {
		p.t.Fatal(err)
	}
	if err := os.WriteFile(p.settings, append(text, "# changed in its "+name+" life\n"...), 0o600); err != nil {
		p.t.Fatal(err)
	}
}

// hear notes what the program has told somebody.
func (p *powerCut) hear(text string) {
	head, body, found := strings.Cut(text, "\r\n\r\n")
	switch {
	case !found || !strings.Contains(head, "200 OK"):
	case strings.Contains(head, "text/plain"):
		all, err := exposition(strings.NewReader(body))
		if err != nil {
			p.t.Error(err)
		}
		maps.DeleteFunc(all, func(series string, _ float64) bool {
			name, _, _ := strings.Cut(series, "{")
			return !strings.HasSuffix(name, "_total") || strings.HasPrefix(name, "loambank_http")
		})
		maps.Copy(p.shown, all)
	case strings.Contains(head, "application/json"):
		at, err := lastTick(strings.NewReader(body))
		if err != nil {
			p.t.Error(err)
		}
		p.told = at
	}
}

// replay goes through the calls of a life and stops after each that may change what a cut leaves.
func (p *powerCut) replay(stop func(k int, d *disk)) (stops int) {
	p.t.Helper()
	d := newDisk(p.t, p.state, p.begin)
	d.answer = p.hear
	d.play(p.all, func() {
		stop(stops, d)
		stops++
	})
	// The calls are understood where they lead to the files that are there.
	for path, file := range d.names {
		there, err := os.ReadFile(path)
		if !file.folder && !strings.HasSuffix(path, "-shm") && (err != nil || !bytes.Equal(there, file.live)) {
			p.t.Fatalf("%s is not what the calls have made it: %d bytes and %d, %v", path, len(there), len(file.live), err)
		}
	}
	return stops
}

// cut cuts the power n times in the life that was traced last.
func (p *powerCut) cut(n int) {
	p.t.Helper()
	shown, told := maps.Clone(p.shown), p.told
	stops := p.replay(func(int, *disk) {})
	p.shown, p.told = shown, told
	p.calls += stops
	made := 0
	p.replay(func(k int, d *disk) {
		for ; made*stops < (k+1)*n; made++ {
			f := fate{data: p.chance.Float64(), names: p.chance.Float64(), order: made%2 == 0}
			switch made % 10 {
			case 1:
				f.data, f.names = 0, 0 // what is left is what was synced
			case 4:
				f.data = 0
			case 7:
				f.data, f.names = 1, 1
			}
			p.inspect(d, f)
		}
	})
}

// inspect cuts the power once, and looks at what is left.
func (p *powerCut) inspect(d *disk, f fate) {
	p.t.Helper()
	p.cuts++
	left := d.left(p.chance, f)
	for path, file := range d.names {
		if there, is := left[path]; !is {
			p.renamed++
			break
		} else if !file.folder && !strings.HasSuffix(path, "-shm") && !bytes.Equal(there, file.live) {
			p.torn++
			break
		}
	}
	for path, text := range left {
		name := strings.TrimPrefix(filepath.Base(path), ".")
		if whole := d.whole[path]; whole != nil && !strings.HasPrefix(name, "history.db") && !slices.Contains(whole, string(text)) {
			p.t.Errorf("cut %d, %+v: %s is left with %d bytes, which it never had", p.cuts, f, path, len(text))
		}
	}
	state := filepath.Join(p.memory, "state")
	if !put(p.t, state, d.root, left) {
		if len(p.shown) > 0 {
			p.t.Errorf("cut %d, %+v: the state directory is gone", p.cuts, f)
		}
		p.young++
		return
	}
	p.counters(state, f)
	p.past(state, f)
	if p.cuts%50 == 25 {
		p.goesOn(state)
	}
	if err := os.RemoveAll(state); err != nil {
		p.t.Fatal(err)
	}
}

// put writes what is left to a folder. It reports whether there is one.
func put(t *testing.T, state, root string, left map[string][]byte) bool {
	t.Helper()
	if _, is := left[root]; !is {
		return false
	}
	if err := os.Mkdir(state, 0o750); err != nil {
		t.Fatal(err)
	}
	for path, text := range left {
		if path == root {
			continue
		}
		if err := os.WriteFile(state+strings.TrimPrefix(path, root), text, 0o640); err != nil {
			t.Fatal(err)
		}
	}
	return true
}

// counters wants every counter to stand where it was shown, or higher, and the ledger to be gone on with.
func (p *powerCut) counters(state string, f fate) {
	p.t.Helper()
	file, on, notes, err := ledger.Open(state, p.began)
	if err != nil || len(notes.Refused) > 0 || notes.From == "" && len(p.shown) > 0 {
		p.t.Errorf("cut %d, %+v: the ledger: %v, %+v", p.cuts, f, err, notes)
		return
	}
	if notes.From == "" {
		p.young++
		return
	}
	kept := exposed(on)
	for series, was := range p.shown {
		if now, there := kept[series]; !there || now < was {
			p.t.Errorf("cut %d, %+v: %s was shown as %v, on disk is %v, %v", p.cuts, f, series, was, now, there)
		}
	}
	if !p.told.IsZero() {
		lostS := p.told.Sub(time.Unix(on.Unix, 0)).Seconds()
		if p.ledgerS = max(p.ledgerS, lostS); lostS > checkpointS+tickS+p.speed*savingS {
			p.late++
		}
	}
	next := *on
	next.Unix++
	if refused, err := file.Save(next); err != nil || len(refused) > 0 {
		p.t.Errorf("cut %d, %+v: the next checkpoint: %v, %+v", p.cuts, f, err, refused)
	}
}

// past wants the history to be gone on with, and nothing of it missing that was synced.
func (p *powerCut) past(state string, f fate) {
	p.t.Helper()
	db, notes, err := history.Open(state, p.began, nil)
	if err != nil || len(notes.Aside) > 0 {
		p.t.Errorf("cut %d, %+v: the history: %v, %+v", p.cuts, f, err, notes)
		return
	}
	if err := db.Close(); err != nil {
		p.t.Errorf("cut %d, %+v: the history: %v", p.cuts, f, err)
	}
	rows, last := historyOf(p.t, state, p.began)
	if rows < p.rows {
		p.t.Errorf("cut %d, %+v: the history has %d rows, %d were synced", p.cuts, f, rows, p.rows)
	}
	if f.data == 0 && f.names == 0 {
		p.rows = rows
	}
	if last.IsZero() {
		last = p.began
	}
	if !p.told.IsZero() {
		lostS := p.told.Sub(last).Seconds()
		if p.historyS = max(p.historyS, lostS); lostS > commitS+tickS+p.speed*savingS {
			p.lateRows++
		}
	}
}

// goesOn lets the program itself live on what is left.
func (p *powerCut) goesOn(state string) {
	p.t.Helper()
	was := p.state
	p.state, p.lives = state, p.lives+1
	defer func() { p.state = was }()
	cmd, told := p.command("run", "--speed", strconv.Itoa(killSpeed))
	if err := cmd.Start(); err != nil {
		p.t.Fatal(err)
	}
	var all map[string]float64
	for began := time.Now(); time.Since(began) < 20*time.Second; time.Sleep(time.Millisecond) {
		if now, ok := p.metrics(); ok && hasTicked(now, "lower") && hasTicked(now, "upper") {
			all = now
			break
		}
	}
	for series, was := range p.shown {
		if now, there := all[series]; !there || now < was {
			p.t.Errorf("after cut %d %s was shown as %v, then as %v, %v", p.cuts, series, was, now, there)
		}
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		p.t.Error(err)
	}
	err := cmd.Wait()
	text := strings.ReplaceAll(told.String(), `level=ERROR msg="fan does not obey"`, "") // it is stopped at once
	if err != nil || strings.Contains(text, "level=ERROR") {
		p.t.Errorf("after cut %d: %v\n%s", p.cuts, err, told)
	}
	stand := standing(p.t, state)
	for _, name := range []string{"", "farm.last-good.toml", "history.db", "learned.json", "ledger", "ledger.previous", "lock"} {
		path := filepath.Join(state, name)
		if _, is := stand[path]; !is {
			p.t.Errorf("after cut %d and another life there is no %s", p.cuts, path)
		}
		delete(stand, path)
	}
	for path := range stand {
		p.t.Errorf("after cut %d and another life %s is left behind", p.cuts, path)
	}
}

// fromTheMiddle makes the state directory what a power cut in the middle of the last life left.
func (p *powerCut) fromTheMiddle() {
	p.t.Helper()
	var left map[string][]byte
	shown, told := maps.Clone(p.shown), p.told
	stops := p.replay(func(int, *disk) {})
	clear(p.shown)
	p.told = time.Time{}
	p.replay(func(k int, d *disk) {
		if k == stops/2 {
			left = d.left(p.chance, fate{data: 0.5, names: 0.5})
			shown, told = maps.Clone(p.shown), p.told
		}
	})
	p.shown, p.told = shown, told
	if err := os.RemoveAll(p.state); err != nil {
		p.t.Fatal(err)
	}
	if !put(p.t, p.state, p.state, left) {
		p.t.Fatal("nothing is left in the middle of a life")
	}
	p.rows, _ = historyOf(p.t, p.state, p.began)
}
