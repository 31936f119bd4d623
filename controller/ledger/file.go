package ledger

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/google/renameio/v2"
)

// File is the ledger on disk: the last checkpoint and the one before it, each complete and
// checksummed, so that whenever the program or the power ends one good generation is there. Use
// Open, with the directory locked; a File belongs to one goroutine.
type File struct {
	dir   string
	saved Checkpoint                          // what is on disk
	link  func(oldname, newname string) error // os.Link; not every file system has it
}

// Notes is what was found on opening. The zero value is a directory without a ledger.
type Notes struct {
	// From is the file whose checkpoint is used; empty is none, and every counter starts at zero.
	From    string
	Refused []Refusal // the last checkpoint first
}

// Refusal is a ledger file that could not be used. It is kept aside, never overwritten by a
// checkpoint.
type Refusal struct {
	File   string // as it was named
	KeptAs string // as it is named now; empty where it could not be moved or was only read
	Err    error  // what is wrong; ErrSchema where nothing is but the schema
}

// Open returns the ledger of a state directory with its last good checkpoint, a zero one where
// there is none. A file that is damaged or of another schema is moved aside, with now in its name,
// and noted. It is an error when the directory is not there or a file may not be read: then
// nothing is known and nothing was changed.
func Open(dir string, now time.Time) (*File, *Checkpoint, Notes, error) {
	c, notes, err := Load(dir)
	if err != nil {
		return nil, nil, Notes{}, err
	}
	f := &File{dir: dir, saved: c.clone(), link: os.Link}
	for i, r := range notes.Refused {
		notes.Refused[i] = f.refuse(r.File, r.Err, now)
	}
	return f, c, notes, nil
}

// Load reads the last good checkpoint as Open does and changes nothing: for those who only look,
// also while a daemon runs.
func Load(dir string) (*Checkpoint, Notes, error) {
	if _, err := os.ReadDir(dir); err != nil {
		return nil, Notes{}, fmt.Errorf("state directory: %w", err)
	}
	var notes Notes
	for _, name := range [...]string{current, previous} {
		c, err := read(dir, name)
		switch {
		case err == nil:
			notes.From = name
			return c, notes, nil
		case errors.Is(err, fs.ErrNotExist):
		case errors.Is(err, fs.ErrPermission):
			return nil, Notes{}, fmt.Errorf("%w; it must be readable for the user that loambank runs as", err)
		default:
			notes.Refused = append(notes.Refused, Refusal{File: name, Err: err})
		}
	}
	return &Checkpoint{}, notes, nil
}

// Save writes a checkpoint, with the accounts of houses that it no longer has. When it returns
// without error the checkpoint outlives a power cut; with one, the last checkpoint still stands,
// or the new one does. A file that was damaged since is moved aside and returned.
func (f *File) Save(c Checkpoint) ([]Refusal, error) {
	refused, err := f.save(c.with(&f.saved))
	if err != nil {
		return refused, fmt.Errorf("ledger: %w", err)
	}
	return refused, nil
}

func (f *File) save(c Checkpoint) ([]Refusal, error) {
	data, err := encode(&c)
	if err != nil {
		return nil, err
	}
	if len(data) > maxBytes {
		return nil, fmt.Errorf("a checkpoint of %d bytes is longer than the %d that are read back", len(data), maxBytes)
	}
	if err := f.removeLeftovers(); err != nil {
		return nil, err
	}
	refused, err := f.inspect(time.Unix(c.Unix, 0))
	if err != nil {
		return refused, err
	}
	if err := f.replace(data); err != nil {
		return refused, err
	}
	f.saved = c.clone()
	return refused, nil
}

// replace makes data the last checkpoint and the last one the previous. Until the new file is
// whole on the disk nothing else is touched, so that a full disk costs nothing.
func (f *File) replace(data []byte) (err error) {
	next, err := renameio.NewPendingFile(filepath.Join(f.dir, current),
		renameio.WithTempDir(f.dir), renameio.WithPermissions(filePerm))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, next.Cleanup()) }()
	if _, err := next.Write(data); err != nil {
		return err
	}
	if err := next.Sync(); err != nil {
		return err
	}
	if err := f.keepPrevious(); err != nil {
		return err
	}
	if err := next.CloseAtomicallyReplace(); err != nil {
		return err
	}
	return syncDir(f.dir)
}
