package archive

import (
	"encoding/binary"
	"errors"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"fairedge/internal/problem"
)

// FileName is the archive's usual name inside the data folder.
const FileName = "archive.fairedge"

// applicationID marks the file as an archive of this program (PRAGMA
// application_id, SQLite file format 1.3.17): the letters "Fair".
const applicationID = 0x46616972

// pageSize is that of new archives in bytes. Twice SQLite's default: photos of
// megabytes need half as many links; larger pages make the log of a small save
// grow.
const pageSize = 8192

// The header of a SQLite file ("Database File Format", sqlite.org, 1.3).
const (
	headerBytes         = 100
	headerMagic         = "SQLite format 3\x00"
	userVersionOffset   = 60
	applicationIDOffset = 68
)

// checkHeader looks at the first bytes of the file before SQLite does, so that
// nothing is ever written to a file that is no archive.
func checkHeader(path string) error {
	f, err := openRegular(path)
	if err != nil {
		return err
	}
	defer f.Close()
	var head [headerBytes]byte
	n, err := io.ReadFull(f, head[:])
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return fileProblem("read", path, err)
	}
	switch {
	case n == 0:
		return problem.Newf(problem.NotAnArchive, "put a backup in its place, or move it away to begin a new archive", "the file %s is empty", path)
	case n < headerBytes || string(head[:len(headerMagic)]) != headerMagic:
		return notAnArchive(path)
	case binary.BigEndian.Uint32(head[applicationIDOffset:]) != applicationID:
		return notAnArchive(path)
	}
	return checkVersion(path, int(binary.BigEndian.Uint32(head[userVersionOffset:])))
}

func notAnArchive(path string) error {
	return problem.Newf(problem.NotAnArchive,
		"name another file with --archive; if it was one once, fairedge salvage tries to save what is in it",
		"%s is not a fairedge archive, or its beginning is destroyed", path)
}

func checkVersion(path string, version int) error {
	if newest := len(migrationNames()); version > newest {
		return problem.Newf(problem.ArchiveNewer, "open it with that version; nothing was changed",
			"the archive %s was written by a newer version of fairedge (format %d, this one knows %d)", path, version, newest)
	}
	return nil
}

func openRegular(path string) (*os.File, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, problem.Newf(problem.FileAccess, "check the name, or keep a first job to begin one", "there is no archive %s", path).Because(err)
	case err != nil:
		return nil, fileProblem("read", path, err)
	case !info.Mode().IsRegular():
		return nil, problem.Newf(problem.NotAnArchive, "name the archive's file", "%s is not an ordinary file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fileProblem("read", path, err)
	}
	return f, nil
}

// access is how a connection may use the file.
type access int

const (
	readWrite access = iota
	readOnly         // other programs may write meanwhile
	immutable        // on a place where nobody can write: no locks, no log
)

// dsn returns the driver's name for the file. Each pragma is repeated on every
// connection of the pool, which PRAGMA statements after opening would not be.
func dsn(path string, how access) string {
	q := url.Values{}
	pragma := func(p string) { q.Add("_pragma", p) }
	// Another program's save takes some milliseconds, its photo of 20 MB a second.
	pragma("busy_timeout(10000)")
	pragma("foreign_keys(1)")
	pragma("trusted_schema(0)")
	pragma("cell_size_check(1)")
	switch how {
	case readWrite:
		q.Set("mode", "rw")
		q.Set("_txlock", "immediate")
		pragma("journal_mode(WAL)")
		pragma("synchronous(FULL)")
		pragma("secure_delete(1)")
	case readOnly:
		// Not mode=ro: the last to leave must be able to put the log away, or -wal and
		// -shm files would stay.
		q.Set("mode", "rw")
		pragma("query_only(1)")
	case immutable:
		q.Set("mode", "ro")
		q.Set("immutable", "1")
		pragma("query_only(1)")
	}
	return fileURI(path) + "?" + q.Encode()
}

// fileURI writes the path so that ?, # and % in folder names stay part of it.
func fileURI(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	return "file:" + strings.ReplaceAll((&url.URL{Path: path}).EscapedPath(), "?", "%3f")
}

// accessTo chooses immutable for an archive on a place where not even the log's
// index can be made. A log that still holds saves cannot be read there.
func accessTo(path string, wantWrite bool) (access, error) {
	if wantWrite {
		return readWrite, nil
	}
	if writable(path) {
		return readOnly, nil
	}
	if info, err := os.Stat(path + "-wal"); err == nil && info.Size() > 0 {
		return readOnly, problem.Newf(problem.FileAccess, "copy the archive together with the files beside it (-wal, -shm) to a folder you can write to",
			"the archive %s has saves in its log and lies where nothing can be written", path)
	}
	return immutable, nil
}

// writable reports whether both the file and its folder can be written to, by
// trying: permission bits say nothing of a write-protected memory stick.
func writable(path string) bool {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return false
	}
	f.Close()
	probe, err := os.CreateTemp(filepath.Dir(path), temporaryName)
	if err != nil {
		return false
	}
	probe.Close()
	return os.Remove(probe.Name()) == nil
}
