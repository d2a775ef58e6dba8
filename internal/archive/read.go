package archive

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"fairedge/internal/problem"
)

// querier is a database or a transaction in it.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// Revision is one saved state of a job.
type Revision struct {
	Saved
	Reason     Reason
	RestoredOf int    // the revision it was restored from, or 0
	SavedAt    string // what the clock said: UTC, RFC 3339; no order follows from it
	Program    string // that saved it
	MadeOn     string // day of the measurement, 2006-01-02, or empty
	SetOf      int
	Which      int
	Words
	WordsGone bool // the words were deleted by Forget
	Sizes
	Note  string
	Parts []PartInfo
	Made  []Made // what was made from it

	id           int64
	ClockSetBack bool // the clock stood earlier than at the revision before: it was set back
}

// PartInfo is a part without its bytes; Data reads those.
type PartInfo struct {
	Role    Role
	Name    string
	SHA256  [32]byte
	Length  int64 // bytes
	content int64
}

// Hash returns the SHA-256 of the bytes in hexadecimal.
func (p PartInfo) Hash() string { return hex.EncodeToString(p.SHA256[:]) }

// Made is one time that something was made from a revision: files, a print.
type Made struct {
	SavedAt string
	Program string
	What    string
}

// entry returns the revision as something to be saved, without its parts.
func (r Revision) entry() Entry {
	made, _ := time.Parse(dayLayout, r.MadeOn) // empty: the zero time
	return Entry{Words: r.Words, SetOf: r.SetOf, Which: r.Which, MadeOn: made, Sizes: r.Sizes, Note: r.Note}
}

const revisionColumns = `r.id, r.job, r.number, coalesce(r.origin, 0), r.reason, r.saved_at, r.program, r.made_on, r.set_of, r.which,
	r.width_mm, r.depth_mm, r.perimeter_mm, r.area_mm2, r.within_mm,
	w.revision IS NULL, coalesce(w.title, ''), coalesce(w.customer, ''), coalesce(w.contact, ''), coalesce(w.place, ''), coalesce(w.chair, ''),
	coalesce(n.text, '')`

const revisionTables = `revision r LEFT JOIN words w ON w.revision = r.id LEFT JOIN note n ON n.revision = r.id`

func scanRevision(row interface{ Scan(...any) error }) (r Revision, err error) {
	err = row.Scan(&r.id, &r.Job, &r.Saved.Revision, &r.RestoredOf, &r.Reason, &r.SavedAt, &r.Program, &r.MadeOn, &r.SetOf, &r.Which,
		&r.Width, &r.Depth, &r.Perimeter, &r.Area, &r.Within,
		&r.WordsGone, &r.Title, &r.Customer, &r.Contact, &r.Place, &r.Chair, &r.Note)
	return r, err
}

// Get returns a revision of a job; Newest stands for the newest.
func (a *Archive) Get(ctx context.Context, job, revision int) (Revision, error) {
	if revision == Newest {
		var err error
		if revision, err = newestNumber(ctx, a.db, job); err != nil {
			return Revision{}, explain(a.path, err)
		}
	}
	r, err := revisionOf(ctx, a.db, job, revision)
	return r, explain(a.path, err)
}

func revisionOf(ctx context.Context, q querier, job, number int) (Revision, error) {
	r, err := scanRevision(q.QueryRowContext(ctx, "SELECT "+revisionColumns+" FROM "+revisionTables+" WHERE r.job = ? AND r.number = ?", job, number))
	if errors.Is(err, sql.ErrNoRows) {
		if _, err := newestNumber(ctx, q, job); err != nil {
			return r, err
		}
		return r, problem.Newf(problem.NotKept, "see fairedge history for what there is", "job %d has no revision %d", job, number)
	}
	if err != nil {
		return r, err
	}
	return r, fillIn(ctx, q, &r)
}

// fillIn adds what stands in tables of its own.
func fillIn(ctx context.Context, q querier, r *Revision) (err error) {
	r.Parts, err = collect(ctx, q, func(rows *sql.Rows) (p PartInfo, err error) {
		var sum []byte
		err = rows.Scan(&p.Role, &p.Name, &sum, &p.Length, &p.content)
		copy(p.SHA256[:], sum)
		return p, err
	}, `SELECT p.role, p.name, c.sha256, c.length, c.id FROM part p JOIN content c ON c.id = p.content WHERE p.revision = ? ORDER BY p.id`, r.id)
	if err != nil {
		return err
	}
	r.Made, err = collect(ctx, q, func(rows *sql.Rows) (m Made, err error) {
		return m, rows.Scan(&m.SavedAt, &m.Program, &m.What)
	}, "SELECT saved_at, program, what FROM made WHERE revision = ? ORDER BY id", r.id)
	return err
}

// collect runs a query and returns what scan makes of each row.
func collect[T any](ctx context.Context, q querier, scan func(*sql.Rows) (T, error), query string, args ...any) ([]T, error) {
	all, err := collectUntil(ctx, q, scan, query, args...)
	if err != nil {
		return nil, err
	}
	return all, nil
}

// Data returns the bytes of a part, checked against its SHA-256: bytes that have
// changed on the disk are an error (kind ArchiveDamaged), never returned.
func (a *Archive) Data(ctx context.Context, p PartInfo) ([]byte, error) {
	data, err := contentOf(ctx, a.db, p)
	return data, explain(a.path, err)
}

func contentOf(ctx context.Context, q querier, p PartInfo) ([]byte, error) {
	var data []byte
	err := q.QueryRowContext(ctx, "SELECT bytes FROM content WHERE id = ?", p.content).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, problem.Newf(problem.NotKept, "it was forgotten meanwhile", "%s is not in the archive any more", p.Name)
	}
	if err != nil {
		return nil, err
	}
	if sha256.Sum256(data) != p.SHA256 {
		return nil, problem.Newf(problem.ArchiveDamaged, "take it from the last backup, or run fairedge check-archive for all that is wrong",
			"%s is damaged in the archive: its bytes are not those that were kept", p.Name)
	}
	return data, nil
}

// Part returns the part by role and, if name is not empty, by name.
func (r Revision) Part(role Role, name string) (PartInfo, bool) {
	for _, p := range r.Parts {
		if p.Role == role && (name == "" || p.Name == name) {
			return p, true
		}
	}
	return PartInfo{}, false
}

// History returns all revisions of a job in the order they were saved.
func (a *Archive) History(ctx context.Context, job int) ([]Revision, error) {
	revisions, err := collect(ctx, a.db, func(rows *sql.Rows) (Revision, error) { return scanRevision(rows) },
		"SELECT "+revisionColumns+" FROM "+revisionTables+" WHERE r.job = ? ORDER BY r.number", job)
	if err != nil {
		return nil, explain(a.path, err)
	}
	if len(revisions) == 0 {
		return nil, noSuchJob(job)
	}
	for i := range revisions {
		if err := fillIn(ctx, a.db, &revisions[i]); err != nil {
			return nil, explain(a.path, err)
		}
		revisions[i].ClockSetBack = i > 0 && revisions[i].SavedAt < revisions[i-1].SavedAt
	}
	return revisions, nil
}

// Forgettings returns the times at which the job's personal data was deleted.
func (a *Archive) Forgettings(ctx context.Context, job int) ([]string, error) {
	times, err := collect(ctx, a.db, func(rows *sql.Rows) (s string, err error) { return s, rows.Scan(&s) },
		"SELECT saved_at FROM forgotten WHERE job = ? ORDER BY id", job)
	return times, explain(a.path, err)
}

// Record notes that something was made from a revision: "7 files", "printed on studio".
func (a *Archive) Record(ctx context.Context, of Saved, what string) error {
	if err := checkText("record", what); err != nil {
		return err
	}
	return a.write(ctx, func(tx *sql.Tx) error {
		result, err := tx.ExecContext(ctx, `INSERT INTO made (revision, saved_at, program, what)
			SELECT id, ?, ?, ? FROM revision WHERE job = ? AND number = ?`, a.now(), a.options.Program, what, of.Job, of.Revision)
		if err != nil {
			return err
		}
		if n, err := result.RowsAffected(); err != nil || n == 1 {
			return err
		}
		return noSuchJob(of.Job)
	})
}

// Count returns how many jobs and revisions the archive holds.
func (a *Archive) Count(ctx context.Context) (jobs, revisions int, err error) {
	err = a.db.QueryRowContext(ctx, "SELECT (SELECT count(*) FROM job), (SELECT count(*) FROM revision)").Scan(&jobs, &revisions)
	if err != nil {
		return 0, 0, explain(a.path, fmt.Errorf("counting: %w", err))
	}
	return jobs, revisions, nil
}
