package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"modernc.org/sqlite"
)

const (
	fileName    = "history.db"
	damagedName = "history.db.damaged-"
	filePerm    = 0o644 // nothing in it is secret; reports are made by other users
	mostDamaged = 3     // kept aside; the oldest goes first
)

// The extended result codes of SQLite say in their last byte what went wrong. See "Result and
// Error Codes" in its documentation.
const (
	codeCorrupt = 11
	codeFormat  = 24
	codeNotADB  = 26
)

// store is the database file of one writer: a single connection, little memory.
type store struct {
	dir  string
	db   *sql.DB
	file os.FileInfo // which file db has open
	// first is below every number of this run and above those of all others.
	first int64
}

// connect returns the handle of a database without touching it.
func connect(path, options string) (*sql.DB, error) {
	u := url.URL{Scheme: "file", Path: path, RawQuery: options}
	db, err := sql.Open("sqlite", u.String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// writing is how the writer opens: each commit is on the disk when it returns; 256 kB of pages in memory.
const writing = "_txlock=immediate&_pragma=busy_timeout(5000)&_pragma=cache_size(-256)" +
	"&_pragma=synchronous(FULL)&_pragma=temp_store(FILE)"

// openStore opens the history of a directory, or makes one. errDamaged, ErrSchema and errForeign
// say that what is there cannot be gone on with. after is a number that was given out already.
func openStore(dir string, after int64) (*store, error) {
	path, err := filepath.Abs(filepath.Join(dir, fileName))
	if err != nil {
		return nil, err
	}
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, filePerm) // SQLite's own error says less
	if err != nil {
		return nil, err
	}
	info, err := file.Stat()
	if err = errors.Join(err, file.Close()); err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: %w: not a file", path, errForeign)
	}
	db, err := connect(path, writing)
	if err != nil {
		return nil, err
	}
	s := &store{dir: dir, db: db, file: info}
	if err := s.begin(context.Background(), after); err != nil {
		return nil, errors.Join(fmt.Errorf("%s: %w", path, damage(err)), db.Close())
	}
	return s, nil
}

// begin looks whether the file is one to go on with, before anything of it is changed.
func (s *store) begin(ctx context.Context, after int64) error {
	v, err := version(ctx, s.db)
	if err != nil {
		return err
	}
	for _, pragma := range [...]string{
		"PRAGMA page_size = 1024", // of a new file: what a batch touches is little
		"PRAGMA journal_mode = WAL", "PRAGMA wal_autocheckpoint = 4000",
	} {
		if _, err := s.db.ExecContext(ctx, pragma); err != nil {
			return err
		}
	}
	if err := migrate(ctx, s.db, v); err != nil {
		return err
	}
	for _, t := range tables {
		var n int
		row := s.db.QueryRowContext(ctx, "SELECT count(*) FROM (SELECT data FROM "+t.name+" ORDER BY at DESC LIMIT 3)")
		if err := row.Scan(&n); err != nil {
			return err
		}
	}
	var run int64
	err = s.db.QueryRowContext(ctx, "UPDATE run SET n = max(n, ?) + 1 RETURNING n", after>>runBits).Scan(&run)
	s.first = run << runBits
	return err
}

// runBits are for the numbers given out in one run: years of them.
const runBits = 24

// damage makes errDamaged of what SQLite says of a file that is not sound.
func damage(err error) error {
	var fault *sqlite.Error
	if errors.As(err, &fault) {
		switch fault.Code() & 0xff {
		case codeCorrupt, codeFormat, codeNotADB:
			return fmt.Errorf("%w: %w", errDamaged, err)
		case 1: // such as a table that is not there
			return fmt.Errorf("%w: %w", errForeign, err)
		}
	}
	return err
}

// unusable reports whether a file must make room for a new one.
func unusable(err error) bool {
	return errors.Is(err, errDamaged) || errors.Is(err, errForeign) || errors.Is(err, ErrSchema)
}

// there reports whether the open file is still the one that has the name.
func (s *store) there() bool {
	info, err := os.Stat(filepath.Join(s.dir, fileName))
	return err == nil && os.SameFile(info, s.file)
}

// setAside renames the history with what belongs to it to a name that says when. The database goes
// last: a kill in between leaves one that is set aside at the next start.
func setAside(dir string, now time.Time) (string, error) {
	stamp := damagedName + now.UTC().Format("20060102T150405Z")
	kept := stamp
	for n := 2; ; n++ {
		_, err := os.Lstat(filepath.Join(dir, kept))
		if errors.Is(err, fs.ErrNotExist) {
			break
		}
		if err != nil {
			return "", err
		}
		kept = fmt.Sprintf("%s-%d", stamp, n)
	}
	for _, end := range [...]string{"-shm", "-wal", ""} {
		err := os.Rename(filepath.Join(dir, fileName+end), filepath.Join(dir, kept+end))
		if err != nil && (end == "" || !errors.Is(err, fs.ErrNotExist)) {
			return "", err
		}
	}
	return kept, prune(dir, kept)
}

// prune removes the oldest files set aside over their number, but not the last: a board may wake
// in the past.
func prune(dir, last string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	var names []string
	for _, e := range entries {
		n := e.Name()
		if strings.HasPrefix(n, damagedName) && n != last && !strings.HasSuffix(n, "-wal") && !strings.HasSuffix(n, "-shm") {
			names = append(names, n)
		}
	}
	var faults []error
	for _, name := range names[:max(0, len(names)+1-mostDamaged)] {
		for _, end := range [...]string{"-shm", "-wal", ""} {
			faults = append(faults, os.RemoveAll(filepath.Join(dir, name+end)))
		}
	}
	return errors.Join(faults...)
}

func (s *store) close() error {
	if s == nil {
		return nil
	}
	return s.db.Close()
}
