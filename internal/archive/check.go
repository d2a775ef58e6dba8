package archive

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"

	"fairedge/internal/problem"
)

// Health is the result of checking an archive.
type Health struct {
	Path      string   `json:"archive"`
	Format    int      `json:"format"`
	Jobs      int      `json:"jobs"`
	Revisions int      `json:"revisions"`
	Contents  int      `json:"contents"`       // different files and documents
	Bytes     int64    `json:"content_bytes"`  // of them
	Faults    []string `json:"faults"`         // one sentence each, the first 20
	More      int      `json:"further_faults"` // how many beyond those
}

// Sound reports whether nothing is wrong.
func (h Health) Sound() bool { return len(h.Faults) == 0 }

func (h Health) fault() error {
	if h.Sound() {
		return nil
	}
	return errors.New(h.Faults[0])
}

const mostFaults = 20

func (h *Health) blame(format string, args ...any) {
	if len(h.Faults) == mostFaults {
		h.More++
		return
	}
	h.Faults = append(h.Faults, fmt.Sprintf(format, args...))
}

// Check reads all of an archive without changing anything and says what is wrong
// with it: SQLite's own check of structure and index, references, the numbers of
// revisions, the SHA-256 of every content, and whether every job can be found. An
// error is returned only when the file cannot be opened as an archive at all.
func Check(ctx context.Context, path string, progress Progress) (Health, error) {
	h := Health{Path: path}
	if err := checkHeader(path); err != nil {
		return h, err
	}
	how, err := accessTo(path, false)
	if err != nil {
		return h, err
	}
	db, err := connect(ctx, path, how)
	if err != nil {
		return h, err
	}
	defer db.Close()
	if h.Format, err = userVersion(ctx, db); err != nil {
		return h, explain(path, err)
	}
	if err := checkVersion(path, h.Format); err != nil {
		return h, err
	}
	for _, check := range []func(context.Context, *sql.DB, *Health) error{checkStructure, checkReferences, checkNumbers, checkIndex} {
		if err := h.note(check(ctx, db, &h)); err != nil {
			return h, explain(path, err)
		}
	}
	return h, explain(path, h.note(checkContents(ctx, db, &h, progress)))
}

// note turns a failure of reading that comes of damage into a fault; other failures
// (stopped, busy) pass.
func (h *Health) note(err error) error {
	if err == nil {
		return nil
	}
	if known := explain(h.Path, err); problem.KindOf(known) != problem.ArchiveDamaged && problem.KindOf(known) != problem.Internal {
		return err
	}
	h.blame("a part of the file cannot be read (%v)", err)
	return nil
}

func checkStructure(ctx context.Context, db *sql.DB, h *Health) error {
	lines, err := collect(ctx, db, func(rows *sql.Rows) (s string, err error) { return s, rows.Scan(&s) }, "PRAGMA integrity_check(100)")
	for _, line := range lines {
		if line != "ok" {
			h.blame("structure: %s", line)
		}
	}
	return err
}

func checkReferences(ctx context.Context, db *sql.DB, h *Health) error {
	type broken struct {
		table, parent string
		row           sql.NullInt64
	}
	rows, err := collect(ctx, db, func(rows *sql.Rows) (b broken, err error) {
		var key int
		return b, rows.Scan(&b.table, &b.row, &b.parent, &key)
	}, "PRAGMA foreign_key_check")
	for _, b := range rows {
		h.blame("row %d of %s refers to a missing row of %s", b.row.Int64, b.table, b.parent)
	}
	return err
}

// checkNumbers sees that every job has its revisions 1, 2, 3, ... and that every
// revision has its words unless they were forgotten.
func checkNumbers(ctx context.Context, db *sql.DB, h *Health) error {
	type job struct{ number, revisions, newest, wordless, forgotten int }
	rows, err := collect(ctx, db, func(rows *sql.Rows) (j job, err error) {
		return j, rows.Scan(&j.number, &j.revisions, &j.newest, &j.wordless, &j.forgotten)
	}, `SELECT j.number, count(r.id), coalesce(max(r.number), 0), count(r.id) - count(w.revision),
			(SELECT count(*) FROM forgotten f WHERE f.job = j.number)
		FROM job j LEFT JOIN revision r ON r.job = j.number LEFT JOIN words w ON w.revision = r.id
		GROUP BY j.number ORDER BY j.number`)
	for _, j := range rows {
		h.Jobs++
		h.Revisions += j.revisions
		switch {
		case j.revisions == 0:
			h.blame("job %d has no revision", j.number)
		case j.newest != j.revisions:
			h.blame("job %d lacks %d of its %d revisions", j.number, j.newest-j.revisions, j.newest)
		case j.wordless > 0 && j.forgotten == 0:
			h.blame("job %d has lost the words of %d revisions", j.number, j.wordless)
		}
	}
	return err
}

// checkIndex sees that each job stands in the index with its present words.
func checkIndex(ctx context.Context, db *sql.DB, h *Health) error {
	jobs, err := collect(ctx, db, func(rows *sql.Rows) (n int, err error) { return n, rows.Scan(&n) },
		"SELECT number FROM job WHERE number IN (SELECT job FROM revision) ORDER BY number")
	if err != nil {
		return err
	}
	for _, job := range jobs {
		want, err := searchTextOf(ctx, db, job)
		if err != nil {
			return err
		}
		var text string
		err = db.QueryRowContext(ctx, "SELECT text FROM search WHERE rowid = ?", job).Scan(&text)
		if errors.Is(err, sql.ErrNoRows) || err == nil && text != want {
			h.blame("job %d cannot be found by its words", job)
			continue
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func checkContents(ctx context.Context, db *sql.DB, h *Health, progress Progress) error {
	type content struct {
		id, length int64
		sum        []byte
	}
	all, err := collect(ctx, db, func(rows *sql.Rows) (c content, err error) { return c, rows.Scan(&c.id, &c.length, &c.sum) },
		"SELECT id, length, sha256 FROM content ORDER BY id")
	if err != nil {
		return err
	}
	for i, c := range all {
		var data []byte
		if err := db.QueryRowContext(ctx, "SELECT bytes FROM content WHERE id = ?", c.id).Scan(&data); err != nil {
			if err := h.note(err); err != nil {
				return err
			}
			continue
		}
		if sum := sha256.Sum256(data); string(sum[:]) != string(c.sum) || int64(len(data)) != c.length {
			h.blame("content %d (%s) has changed since it was kept", c.id, partsWith(ctx, db, c.id))
		}
		h.Contents++
		h.Bytes += c.length
		progress.say(int64(i+1), int64(len(all)))
	}
	return nil
}

// partsWith names the first part that refers to a content, for the report.
func partsWith(ctx context.Context, db querier, content int64) string {
	var job, revision int
	var name string
	err := db.QueryRowContext(ctx, `SELECT r.job, r.number, p.name FROM part p JOIN revision r ON r.id = p.revision
		WHERE p.content = ? ORDER BY p.id LIMIT 1`, content).Scan(&job, &revision, &name)
	if err != nil {
		return "used by no job"
	}
	return fmt.Sprintf("%s of job %d:%d", name, job, revision)
}
