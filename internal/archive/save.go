package archive

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"fairedge/internal/problem"
)

// Reason says why a revision was saved.
type Reason string

// The reasons for a revision.
const (
	Kept     Reason = "kept"     // the job's first
	Changed  Reason = "changed"  // words, sizes or parts were changed
	Noted    Reason = "noted"    // only a note was added
	Restored Reason = "restored" // an earlier revision's state came back
)

// Saved says where something was saved.
type Saved struct {
	Job      int // the job's number
	Revision int // the revision's number within the job, from 1
}

// Keep saves a new job and returns its number. When Keep returns without an error,
// the job is on the disk.
func (a *Archive) Keep(ctx context.Context, e Entry) (saved Saved, err error) {
	if err := e.check(); err != nil {
		return saved, err
	}
	err = a.write(ctx, func(tx *sql.Tx) error {
		result, err := tx.ExecContext(ctx, "INSERT INTO job DEFAULT VALUES")
		if err != nil {
			return err
		}
		job, err := result.LastInsertId()
		if err != nil {
			return err
		}
		saved, err = a.addRevision(ctx, tx, int(job), 1, 0, Kept, e)
		return err
	})
	return saved, err
}

// Newest stands for a job's newest revision.
const Newest = 0

// Change saves a new revision of a job: what edit makes of the revision base. Base is
// the revision that the person looked at; when there is a newer one by now, somebody
// else was faster, nothing is saved and the error's kind is ArchiveBusy. With
// Newest the change is made to whatever is there. The note of base is not carried on.
func (a *Archive) Change(ctx context.Context, job, base int, edit func(*Entry) error) (Saved, error) {
	return a.succeed(ctx, job, base, Changed, edit)
}

// Note adds a note to a job, as a new revision that is otherwise the newest one.
func (a *Archive) Note(ctx context.Context, job int, text string) (Saved, error) {
	if text == "" {
		return Saved{}, problem.New(problem.Usage, "the note is empty", "write something")
	}
	return a.repeat(ctx, job, Newest, Noted, text)
}

func (a *Archive) succeed(ctx context.Context, job, base int, why Reason, edit func(*Entry) error) (saved Saved, err error) {
	err = a.write(ctx, func(tx *sql.Tx) error {
		newest, err := newestNumber(ctx, tx, job)
		if err != nil {
			return err
		}
		if base != Newest && base != newest {
			return problem.Newf(problem.ArchiveBusy, "look at it again and repeat the change",
				"job %d was changed meanwhile (revision %d, not %d)", job, newest, base)
		}
		entry, err := entryOf(ctx, tx, job, newest)
		if err != nil {
			return err
		}
		entry.Note = ""
		if err := edit(&entry); err != nil {
			return err
		}
		if err := entry.check(); err != nil {
			return err
		}
		saved, err = a.addRevision(ctx, tx, job, newest+1, 0, why, entry)
		return err
	})
	return saved, err
}

// Restore makes the state of an earlier revision the newest one, as a new revision.
// Notes stay where they are.
func (a *Archive) Restore(ctx context.Context, job, revision int) (Saved, error) {
	return a.repeat(ctx, job, revision, Restored, "")
}

// repeat saves a revision once more as the newest. Its parts are referred to, not read:
// that is quick, and a part that is damaged stands in nobody's way.
func (a *Archive) repeat(ctx context.Context, job, revision int, why Reason, note string) (saved Saved, err error) {
	err = a.write(ctx, func(tx *sql.Tx) error {
		newest, err := newestNumber(ctx, tx, job)
		if err != nil {
			return err
		}
		origin := revision
		if why != Restored {
			revision, origin = newest, 0
		} else if revision == newest {
			return problem.Newf(problem.Usage, "see fairedge history for the others", "revision %d is job %d's newest already", revision, job)
		}
		r, err := revisionOf(ctx, tx, job, revision)
		if err != nil {
			return err
		}
		entry := r.entry()
		entry.Note = note
		if err := entry.check(); err != nil {
			return err
		}
		if saved, err = a.addRevision(ctx, tx, job, newest+1, origin, why, entry); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO part (revision, role, name, content)
			SELECT (SELECT id FROM revision WHERE job = ? AND number = ?), role, name, content FROM part WHERE revision = ? ORDER BY id`,
			job, newest+1, r.id)
		return err
	})
	return saved, err
}

// entryOf reads a revision with the bytes of its parts. A part that is damaged is an
// error: it must not be carried on as if it were whole.
func entryOf(ctx context.Context, q querier, job, number int) (Entry, error) {
	r, err := revisionOf(ctx, q, job, number)
	if err != nil {
		return Entry{}, err
	}
	e := r.entry()
	for _, p := range r.Parts {
		data, err := contentOf(ctx, q, p)
		if err != nil {
			return Entry{}, err
		}
		e.Parts = append(e.Parts, Part{p.Role, p.Name, data})
	}
	return e, nil
}

func newestNumber(ctx context.Context, q querier, job int) (int, error) {
	var newest sql.NullInt64
	err := q.QueryRowContext(ctx, "SELECT max(number) FROM revision WHERE job = ?", job).Scan(&newest)
	if err == nil && !newest.Valid {
		return 0, noSuchJob(job)
	}
	return int(newest.Int64), err
}

func noSuchJob(job int) error {
	return problem.Newf(problem.NotKept, "look for it with fairedge find", "there is no job %d in the archive", job)
}

func (a *Archive) addRevision(ctx context.Context, tx *sql.Tx, job, number, origin int, why Reason, e Entry) (Saved, error) {
	result, err := tx.ExecContext(ctx, `INSERT INTO revision
		(job, number, origin, reason, saved_at, program, made_on, set_of, which, width_mm, depth_mm, perimeter_mm, area_mm2, within_mm)
		VALUES (?, ?, nullif(?, 0), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		job, number, origin, why, a.now(), a.options.Program, dayText(e.MadeOn), e.SetOf, e.Which,
		e.Width, e.Depth, e.Perimeter, e.Area, e.Within)
	if err != nil {
		return Saved{}, err
	}
	id, err := result.LastInsertId()
	if err != nil {
		return Saved{}, err
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO words (revision, title, customer, contact, place, chair) VALUES (?, ?, ?, ?, ?, ?)",
		id, e.Title, e.Customer, e.Contact, e.Place, e.Chair); err != nil {
		return Saved{}, err
	}
	if e.Note != "" {
		if _, err := tx.ExecContext(ctx, "INSERT INTO note (revision, text) VALUES (?, ?)", id, e.Note); err != nil {
			return Saved{}, err
		}
	}
	for _, p := range e.Parts {
		if err := addPart(ctx, tx, id, p); err != nil {
			return Saved{}, fmt.Errorf("keeping %s: %w", p.Name, err)
		}
	}
	return Saved{job, number}, indexJob(ctx, tx, job)
}

func addPart(ctx context.Context, tx *sql.Tx, revision int64, p Part) error {
	content, err := addContent(ctx, tx, p.Data)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO part (revision, role, name, content) VALUES (?, ?, ?, ?)", revision, p.Role, p.Name, content)
	return err
}

// addContent stores the bytes unless they are there already, and returns their row.
func addContent(ctx context.Context, tx *sql.Tx, data []byte) (id int64, err error) {
	sum := sha256.Sum256(data)
	err = tx.QueryRowContext(ctx, "SELECT id FROM content WHERE sha256 = ?", sum[:]).Scan(&id)
	if !errors.Is(err, sql.ErrNoRows) {
		return id, err
	}
	if data == nil {
		data = []byte{} // NULL is not the same as no bytes
	}
	result, err := tx.ExecContext(ctx, "INSERT INTO content (sha256, length, bytes) VALUES (?, ?, ?)", sum[:], len(data), data)
	if err != nil {
		return 0, err
	}
	return result.LastInsertId()
}

func dayText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(dayLayout)
}
