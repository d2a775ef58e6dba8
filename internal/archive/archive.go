package archive

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"fairedge/internal/problem"
)

// Options say who uses the archive and how.
type Options struct {
	Program  string           // name and version, kept with every revision
	Now      func() time.Time // the clock; nil is the computer's
	ReadOnly bool             // refuse to write; works where nothing can be written
}

// Archive is an open archive. It may be used by several goroutines, and the file
// by several programs, at the same time.
type Archive struct {
	path    string
	db      *sql.DB
	options Options
}

// Open opens the archive at path and, unless ReadOnly, leads an older version to
// this one. It never makes a file and never writes to one that is no archive, is
// of a newer version or cannot be understood.
func Open(ctx context.Context, path string, options Options) (*Archive, error) {
	if err := checkHeader(path); err != nil {
		return nil, err
	}
	how, err := accessTo(path, !options.ReadOnly)
	if err != nil {
		return nil, err
	}
	if how == readWrite {
		// The version is asked first by a connection that cannot write: the header
		// may be older than what the log holds.
		if err := lookOnly(ctx, path); err != nil {
			return nil, err
		}
	}
	db, err := connect(ctx, path, how)
	if err != nil {
		return nil, err
	}
	a := &Archive{path: path, db: db, options: options}
	if a.options.Now == nil {
		a.options.Now = time.Now
	}
	if err := a.begin(ctx, how); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return a, nil
}

// begin brings the file to this version, or checks that it can be read as it is.
func (a *Archive) begin(ctx context.Context, how access) error {
	if how == readWrite {
		return migrate(ctx, a.db, a.path)
	}
	version, err := userVersion(ctx, a.db)
	if err != nil {
		return explain(a.path, err)
	}
	if err := checkVersion(a.path, version); err != nil {
		return err
	}
	if version < len(migrationNames()) && how == readOnly {
		return renew(ctx, a.path)
	}
	if version < len(migrationNames()) {
		return problem.Newf(problem.FileAccess, "copy it to a folder you can write to and open it there",
			"the archive %s is of an older version (format %d) and lies where it cannot be renewed", a.path, version)
	}
	return nil
}

// renew leads an older archive that was opened to be read, on a place that can be
// written to, to this version.
func renew(ctx context.Context, path string) error {
	db, err := connect(ctx, path, readWrite)
	if err != nil {
		return err
	}
	return errors.Join(migrate(ctx, db, path), db.Close())
}

// lookOnly reads the version and the list of tables without writing.
func lookOnly(ctx context.Context, path string) error {
	how, err := accessTo(path, false)
	if err != nil {
		return err
	}
	db, err := connect(ctx, path, how)
	if err != nil {
		return err
	}
	defer db.Close()
	version, err := userVersion(ctx, db)
	if err != nil {
		return explain(path, err)
	}
	if err := checkVersion(path, version); err != nil {
		return err
	}
	var tables int
	err = db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema WHERE name IN ('job', 'revision', 'content')").Scan(&tables)
	if err == nil && version >= 1 && tables != 3 {
		return damaged(path, fmt.Errorf("%d of 3 tables", tables))
	}
	return explain(path, err)
}

func connect(ctx context.Context, path string, how access) (*sql.DB, error) {
	db, err := sql.Open("sqlite", dsn(path, how))
	if err != nil {
		return nil, explain(path, err)
	}
	db.SetMaxOpenConns(4) // readers beside the one writer
	db.SetMaxIdleConns(4)
	if err := db.PingContext(ctx); err != nil {
		return nil, errors.Join(explain(path, err), db.Close())
	}
	return db, nil
}

// OpenOrCreate opens the archive at path, or makes an empty one there, with the
// folders that are missing.
func OpenOrCreate(ctx context.Context, path string, options Options) (*Archive, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		if err := Create(ctx, path); err != nil && problem.KindOf(err) != problem.FileExists {
			return nil, err
		}
	}
	return Open(ctx, path, options)
}

// Create makes an empty archive at path, and fails when something is there
// already. The file is made under another name and takes its own when it is
// complete, so that no half-made archive is ever seen.
func Create(ctx context.Context, path string) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fileProblem("make the folder", dir, err)
	}
	return intoPlace(path, func(temporary string) error { return initialise(ctx, temporary) })
}

// initialise turns an empty file into an archive of the newest version, all of it
// in the file itself and none in a log.
func initialise(ctx context.Context, path string) error {
	if err := mark(ctx, path); err != nil {
		return err
	}
	db, err := connect(ctx, path, readWrite)
	if err != nil {
		return err
	}
	defer db.Close()
	if err := migrate(ctx, db, path); err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	return errors.Join(explain(path, err), db.Close())
}

// mark makes an empty file version 0 of an archive: its settings, no tables.
func mark(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", fileURI(path)+"?mode=rw")
	if err != nil {
		return explain(path, err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, pragma := range []string{
		fmt.Sprintf("PRAGMA page_size = %d", pageSize),
		// Keeps the roots of all tables at the beginning, where salvage finds them
		// again when the first page is lost, and lets space be given back.
		"PRAGMA auto_vacuum = INCREMENTAL",
		"PRAGMA encoding = 'UTF-8'",
		fmt.Sprintf("PRAGMA application_id = %d", applicationID),
		"PRAGMA journal_mode = WAL",
		"PRAGMA synchronous = FULL",
	} {
		if _, err := db.ExecContext(ctx, pragma); err != nil {
			return explain(path, err)
		}
	}
	return explain(path, db.Close())
}

// Path returns the archive's file.
func (a *Archive) Path() string { return a.path }

// Close ends the use of the archive. What was saved is safe without it.
func (a *Archive) Close() error { return explain(a.path, a.db.Close()) }

// now is the clock's word as it is stored: UTC, to the millisecond.
func (a *Archive) now() string { return a.options.Now().UTC().Format(timeLayout) }

const timeLayout = "2006-01-02T15:04:05.000Z"

// write runs f in one transaction, which no other program's writes can come
// between. When it fails, nothing of it is in the file.
func (a *Archive) write(ctx context.Context, f func(*sql.Tx) error) error {
	if a.options.ReadOnly {
		return problem.New(problem.FileAccess, "the archive was opened for reading only", "open it for writing")
	}
	tx, err := a.db.BeginTx(ctx, nil)
	if err != nil {
		return explain(a.path, err)
	}
	defer tx.Rollback()
	if err := f(tx); err != nil {
		return explain(a.path, err)
	}
	return explain(a.path, tx.Commit())
}

// IsReadOnly reports whether nothing can be saved.
func (a *Archive) IsReadOnly() bool { return a.options.ReadOnly }
