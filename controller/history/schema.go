package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// schema is that of the files this program writes; it reads older ones, and makes them new when it
// opens them for writing.
const schema = 2

// applicationID stands in the header of every history.db: "loam".
const applicationID = 0x6c6f616d

// ErrSchema says that a history is sound but of a newer schema than this program knows.
var ErrSchema = errors.New("history is of a newer schema than this program reads")

var errForeign = errors.New("not a history of loambank")

// Each table begins its key with the time, so that a batch touches the same last pages whatever
// the number of houses. run tells apart what was written before and after a start or a set clock.
const tableOf = `(at INTEGER NOT NULL, house INTEGER NOT NULL, n INTEGER NOT NULL, data BLOB NOT NULL,
	PRIMARY KEY (at, house, n)) WITHOUT ROWID`

// migrations lead from each schema to the next; the first from nothing.
var migrations = [schema][]string{
	{
		"CREATE TABLE run (n INTEGER NOT NULL)",
		"INSERT INTO run VALUES (0)",
		"CREATE TABLE layout (id INTEGER PRIMARY KEY, data BLOB NOT NULL)",
		"CREATE TABLE settings (hash TEXT PRIMARY KEY, at INTEGER NOT NULL, data BLOB NOT NULL) WITHOUT ROWID",
		"CREATE TABLE minute " + tableOf,
		"CREATE TABLE quarter " + tableOf,
		"CREATE TABLE hour " + tableOf,
		"CREATE TABLE decision " + tableOf,
		"CREATE TABLE journal " + tableOf,
		"CREATE TABLE mark " + tableOf,
	},
	{"CREATE TABLE note " + tableOf},
}

// version returns the schema of an open database; 0 is an empty one. It reads, and changes nothing.
func version(ctx context.Context, db *sql.DB) (int, error) {
	var id, v, tables int
	err := db.QueryRowContext(ctx, `SELECT (SELECT application_id FROM pragma_application_id),
		(SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema)`).Scan(&id, &v, &tables)
	switch {
	case err != nil:
		return 0, err
	case id == 0 && v == 0 && tables == 0:
		return 0, nil
	case id != applicationID || v < 1:
		return 0, fmt.Errorf("%w: application %#x, schema %d", errForeign, id, v)
	case v > schema:
		return v, fmt.Errorf("%w: it is %d, this program reads %d; run the program that wrote it", ErrSchema, v, schema)
	}
	return v, nil
}

// migrate brings an open database to this program's schema, all steps or none.
func migrate(ctx context.Context, db *sql.DB, from int) error {
	if from == schema {
		return nil
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() //nolint:errcheck // after Commit it does nothing
	for _, step := range migrations[from:] {
		for _, statement := range step {
			if _, err := tx.ExecContext(ctx, statement); err != nil {
				return err
			}
		}
	}
	for _, statement := range []string{
		fmt.Sprintf("PRAGMA application_id = %d", applicationID), fmt.Sprintf("PRAGMA user_version = %d", schema),
	} {
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	return tx.Commit()
}
