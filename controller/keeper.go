package controller

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"loambank/controller/house"
	"loambank/controller/ledger"
	"loambank/controller/whole"
)

// checkpointEvery is the longest time between two checkpoints; a decision that changes takes one
// at once.
const checkpointEvery = 5 * time.Minute

// keeper keeps on disk what must outlive the program. Where the state directory cannot be had, the
// farm runs all the same: it is said, and tried again with every checkpoint.
type keeper struct {
	dir   string
	clock Clock
	log   *slog.Logger

	began *ledger.Checkpoint // what this run goes on from

	mu       sync.Mutex   // for the next four: a reload and the loop both save
	file     *ledger.File // nil while the directory cannot be had
	release  func() error
	err      error  // of the last try; nil while all is kept
	settings []byte // a settings file that is to be kept as the last good one
	// what was learned, as of learnedAt by the machine's clock; ends asks for it once more.
	learned   map[string]learned
	learnedAt time.Time
	ends      bool

	changed chan struct{}
	kept    atomic.Pointer[Kept]
}

// Kept is what is safely on disk. It is never changed.
type Kept struct {
	Unix     int64 // wall time of the last checkpoint, s; 0 is none
	Accounts map[string]*ledger.House
	Lost     bool   // both generations of the ledger were bad when the program started
	Fault    string // why nothing is kept now; empty is that all is
}

// openKeeper takes a state directory. It is an error only where another process has it: then that
// one drives the fans.
func openKeeper(dir string, clock Clock, log *slog.Logger) (*keeper, error) {
	k := &keeper{dir: dir, clock: clock, log: log, began: &ledger.Checkpoint{}, changed: make(chan struct{}, 1)}
	k.loadLearned()
	notes, err := k.open()
	if errors.Is(err, ledger.ErrHeld) {
		return nil, err
	}
	if err != nil {
		// What is there can perhaps still be read: a latched fault must not be forgotten.
		if c, _, fault := ledger.Load(dir); fault == nil {
			k.began = c
		}
	}
	lost := notes.From == "" && len(notes.Refused) > 0
	if lost {
		log.Error("the ledger is lost: both generations are damaged; every counter begins at zero")
	}
	k.publish(k.began, lost)
	k.report(err)
	return k, nil
}

// open makes the directory where it is not there, locks it and opens its ledger.
func (k *keeper) open() (notes ledger.Notes, err error) {
	if err := whole.MakeDir(k.dir); err != nil {
		return notes, fmt.Errorf("state directory: %w", err)
	}
	release, err := ledger.Lock(k.dir)
	if err != nil {
		return notes, err
	}
	file, c, notes, err := ledger.Open(k.dir, k.clock.Now())
	if err == nil && k.kept.Load() != nil && c.Unix != k.began.Unix {
		err = errors.New("it holds a ledger that this run did not begin with; start loambank anew to go on with it")
	}
	if err != nil {
		return notes, errors.Join(err, release())
	}
	if k.kept.Load() == nil {
		k.began = c
	}
	k.file, k.release = file, release
	k.logRefused(notes.Refused)
	return notes, nil
}

func (k *keeper) logRefused(refused []ledger.Refusal) {
	for _, r := range refused {
		k.log.Error("ledger file is damaged and kept aside", "file", r.File, "kept_as", r.KeptAs, keyError, r.Err)
	}
}

// publish makes known what is on disk.
func (k *keeper) publish(c *ledger.Checkpoint, lost bool) {
	next := &Kept{Unix: c.Unix, Accounts: map[string]*ledger.House{}, Lost: lost}
	for i := range c.Houses {
		a := &c.Houses[i].Account
		next.Accounts[a.Name] = a
	}
	k.kept.Store(next)
}

// report logs when keeping fails and when it works again, and publishes the fault.
func (k *keeper) report(err error) {
	switch {
	case err != nil && k.err == nil:
		k.log.Error("nothing is kept: the farm runs on, but counters stand still and a restart forgets", keyError, err)
	case err == nil && k.err != nil:
		k.log.Info("kept again", "dir", k.dir)
	}
	k.err = err
	now := *k.kept.Load()
	if now.Fault = ""; err != nil {
		now.Fault = err.Error()
	}
	k.kept.Store(&now)
}

// since is a wall time that has passed for sure.
func (k *keeper) since() time.Time {
	if k == nil || !k.began.Believed {
		return time.Time{}
	}
	return time.Unix(k.began.Unix, 0)
}

// house returns the account of a house, and what it remembers after the time the program was down.
func (k *keeper) house(name string, believed bool) (*ledger.House, house.Saved) {
	var saved house.Saved
	if k == nil {
		return nil, saved
	}
	for i := range k.began.Houses {
		e := &k.began.Houses[i]
		if e.Account.Name != name {
			continue
		}
		if len(e.State) > 0 {
			if err := json.Unmarshal(e.State, &saved); err != nil {
				k.log.Error("what the house remembered cannot be read; it begins anew", keyHouse, name, keyError, err)
				saved = house.Saved{}
			}
		}
		downS, counts := k.began.DownS(k.clock.Now(), believed)
		return e.Account.Clone(), saved.Restarted(downS, counts)
	}
	return nil, saved
}

// keepSettings keeps the text of a settings file as the last good one, with the next checkpoint.
func (k *keeper) keepSettings(text []byte) {
	if k == nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.settings = text
}

// change asks for a checkpoint now. It is safe from any goroutine.
func (k *keeper) change() {
	if k == nil {
		return
	}
	select {
	case k.changed <- struct{}{}:
	default: // asked for already
	}
}

// taker says what there is to keep.
type taker func() (ledger.Checkpoint, map[string]learned)

// end has all of it written with the next checkpoint, the last one.
func (k *keeper) end() {
	if k == nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.ends = true
}

// learnedOf is what was learned of a house when the program last ran.
func (k *keeper) learnedOf(name string) learned {
	if k == nil {
		return learned{}
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.learned[name]
}

// loop takes checkpoints until ctx is done.
func (k *keeper) loop(ctx context.Context, take taker) {
	for {
		k.save(take)
		if k.clock.sleep(ctx, k.clock.Now().Add(checkpointEvery), k.changed) == stopped {
			return
		}
	}
}

// save takes a checkpoint. It is taken under the lock, so that none comes to the disk after a newer one.
func (k *keeper) save(take taker) {
	if k == nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	c, know := take()
	k.report(k.write(c, know))
}

func (k *keeper) write(c ledger.Checkpoint, know map[string]learned) error {
	if k.file == nil {
		if _, err := k.open(); err != nil {
			return err
		}
	}
	refused, err := k.file.Save(c)
	k.logRefused(refused)
	if err != nil {
		return err
	}
	k.publish(&c, k.kept.Load().Lost)
	if err := k.writeLearned(know, k.ends); err != nil {
		return err
	}
	if k.settings == nil {
		return nil
	}
	if err := whole.Write(LastGoodPath(k.dir), k.settings); err != nil {
		return fmt.Errorf("last good settings: %w", err)
	}
	k.settings = nil
	return nil
}

// close lets the directory go.
func (k *keeper) close() error {
	if k == nil || k.release == nil {
		return nil
	}
	return k.release()
}

// LastGoodPath is where the settings that last worked are kept in a state directory.
func LastGoodPath(dir string) string { return filepath.Join(dir, "farm.last-good.toml") }
