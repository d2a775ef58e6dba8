package archive

import (
	"context"
	"errors"
	"fmt"
	"io/fs"

	"fairedge/internal/problem"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// explain turns a failure of SQLite into a sentence with a remedy; failures that
// already have one pass.
func explain(path string, err error) error {
	var known *problem.Error
	var failed *sqlite.Error
	switch {
	case err == nil || errors.As(err, &known):
		return err
	case errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded):
		return problem.New(problem.Cancelled, "stopped", "nothing was changed").Because(err)
	case !errors.As(err, &failed):
		return fmt.Errorf("archive %s: %w", path, err)
	}
	switch failed.Code() & 0xff { // the rest is detail
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return damaged(path, err)
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return problem.Newf(problem.ArchiveBusy, "wait for the other program or end it, then try again",
			"another program is using the archive %s", path).Because(err)
	case sqlite3.SQLITE_FULL:
		return problem.Newf(problem.FileAccess, "make room and try again; nothing of this save was kept, everything before it is safe",
			"there is no space left for the archive %s", path).Because(err)
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return problem.Newf(problem.FileAccess, "check its permissions, or copy it to a folder you can write to",
			"the archive %s cannot be written to", path).Because(err)
	case sqlite3.SQLITE_CANTOPEN:
		return problem.Newf(problem.FileAccess, "check the name and the folder's permissions",
			"the archive %s cannot be opened", path).Because(err)
	case sqlite3.SQLITE_IOERR:
		return problem.Newf(problem.FileAccess, "check the disk and its free space; everything saved before is safe",
			"the archive %s could not be read or written", path).Because(err)
	}
	return fmt.Errorf("archive %s: %w", path, err)
}

func damaged(path string, cause error) error {
	return problem.Newf(problem.ArchiveDamaged, "do not work on with it: take the last backup, or save what can be read with fairedge salvage",
		"the archive %s is damaged", path).Because(cause)
}

func fileProblem(verb, path string, cause error) error {
	reason := cause
	var pathError *fs.PathError
	if errors.As(cause, &pathError) {
		reason = pathError.Err
	}
	return problem.New(problem.FileAccess, fmt.Sprintf("could not %s %s (%v)", verb, path, reason),
		"check the name, its permissions and the free space").Because(cause)
}
