package archive

import (
	"context"
	"database/sql"
)

// finish leaves out jobs without revisions, gives words to revisions that lost
// theirs, makes the index anew and says which revisions are missing.
func (w *salvager) finish(ctx context.Context) error {
	type job struct{ number, revisions, newest int }
	jobs, err := collect(ctx, w.tx, func(rows *sql.Rows) (j job, err error) { return j, rows.Scan(&j.number, &j.revisions, &j.newest) },
		`SELECT j.number, count(r.id), coalesce(max(r.number), 0) FROM job j LEFT JOIN revision r ON r.job = j.number
			GROUP BY j.number ORDER BY j.number`)
	if err != nil {
		return err
	}
	for _, j := range jobs {
		if j.revisions == 0 {
			w.report.lose("job %d", j.number)
			continue
		}
		if j.newest > j.revisions {
			w.report.lose("%d of the %d revisions of job %d", j.newest-j.revisions, j.newest, j.number)
		}
		if err := w.loseWords(ctx, j.number); err != nil {
			return err
		}
		if err := indexJob(ctx, w.tx, j.number); err != nil {
			return err
		}
	}
	return w.loseRows(ctx)
}

// loseRows says how many rows of torn tables are missing whose loss shows nowhere
// else. Their numbers run without gaps but for those that forget has deleted.
func (w *salvager) loseRows(ctx context.Context) error {
	for _, t := range []struct{ name, what string }{{"part", "entries of the lists of files"}, {"made", "records of what was made"}} {
		if !w.torn[t.name] {
			continue
		}
		var there, last int64
		if err := w.tx.QueryRowContext(ctx, "SELECT count(*), coalesce(max(id), 0) FROM "+t.name).Scan(&there, &last); err != nil {
			return err
		}
		var given sql.NullInt64
		if err := w.source.QueryRowContext(ctx, "SELECT seq FROM sqlite_sequence WHERE name = ?", t.name).Scan(&given); err == nil {
			last = max(last, given.Int64)
		}
		if missing := last - there - int64(len(w.named)); missing > 0 {
			w.report.lose("up to %d %s", missing, t.what)
		} else if there == 0 {
			w.report.lose("all %s", t.what)
		}
	}
	if w.torn["note"] {
		w.report.lose("perhaps some notes")
	}
	return nil
}

// loseWords names revisions whose words are lost and gives them empty ones, so that
// the new archive is sound.
func (w *salvager) loseWords(ctx context.Context, job int) error {
	result, err := w.tx.ExecContext(ctx, `INSERT INTO words (revision, title, customer, contact, place, chair)
		SELECT id, '', '', '', '', '' FROM revision r WHERE job = ?1
		AND NOT EXISTS (SELECT 1 FROM words WHERE revision = r.id) AND NOT EXISTS (SELECT 1 FROM forgotten WHERE job = ?1)`, job)
	if err != nil {
		return err
	}
	n, err := result.RowsAffected()
	if err == nil && n > 0 {
		w.report.lose("the words of %d revisions of job %d", n, job)
	}
	return err
}
