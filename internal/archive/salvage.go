package archive

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"fairedge/internal/problem"
)

// Salvaged says what was saved out of a damaged archive.
type Salvaged struct {
	Health
	Lost     []string `json:"lost"`         // one sentence each, the first 20
	MoreLost int      `json:"further_lost"` // how many beyond those
}

func (s *Salvaged) lose(format string, args ...any) {
	if len(s.Lost) == mostFaults {
		s.MoreLost++
		return
	}
	s.Lost = append(s.Lost, fmt.Sprintf(format, args...))
}

// Salvage copies what can still be read of a damaged archive into a new one. The
// damaged file is only read; all work is done on a copy of it. Contents whose
// SHA-256 no longer fits are left out and named, never taken on.
func Salvage(ctx context.Context, from, to string, progress Progress) (Salvaged, error) {
	var s Salvaged
	source, err := openRegular(from)
	if err != nil {
		return s, err
	}
	source.Close()
	if err := refuseNewer(from); err != nil {
		return s, err
	}
	err = intoPlace(to, func(temporary string) error {
		work, err := os.MkdirTemp(filepath.Dir(temporary), temporaryName)
		if err != nil {
			return fileProblem("write", to, err)
		}
		defer os.RemoveAll(work)
		copied := filepath.Join(work, "damaged")
		if err := copyArchive(from, copied); err != nil {
			return err
		}
		if err := initialise(ctx, temporary); err != nil {
			return err
		}
		if err := salvageInto(ctx, copied, temporary, &s, progress); err != nil {
			return err
		}
		s.Health, err = Check(ctx, temporary, nil)
		return err
	})
	if err == nil && s.Revisions == 0 {
		err = errors.Join(nothingSalvaged(from), os.Remove(to))
	}
	s.Health.Path = to
	return s, err
}

func nothingSalvaged(from string) error {
	return problem.Newf(problem.ArchiveDamaged, "take the last backup", "no job could be read out of %s", from)
}

// refuseNewer passes every damage but not an archive of a newer version, which
// would lose what this version does not know.
func refuseNewer(path string) error {
	if err := checkHeader(path); problem.KindOf(err) == problem.ArchiveNewer {
		return err
	}
	return nil
}

// copyArchive copies the file and its log.
func copyArchive(from, to string) error {
	for _, suffix := range []string{"", "-wal"} {
		err := copyFile(from+suffix, to+suffix)
		if suffix != "" && errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return fileProblem("copy", from+suffix, err)
		}
	}
	return nil
}

func copyFile(from, to string) (err error) {
	source, err := os.Open(from)
	if err != nil {
		return err
	}
	defer source.Close()
	target, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, target.Close()) }()
	_, err = io.Copy(target, source)
	return err
}

// salvageInto tries the copy as it is; when nothing of it can be read, with the
// first page of a new archive in place of its own.
func salvageInto(ctx context.Context, copied, to string, s *Salvaged, progress Progress) error {
	target, err := connect(ctx, to, readWrite)
	if err != nil {
		return err
	}
	defer target.Close()
	rows, err := salvageRows(ctx, copied, target, s, progress)
	if err == nil && rows == 0 {
		if err = borrowFirstPage(ctx, copied); err != nil {
			return err
		}
		s.Lost, s.MoreLost = nil, 0
		s.lose("the beginning of the file, which was made anew")
		_, err = salvageRows(ctx, copied, target, s, progress)
	}
	if err != nil {
		return err
	}
	_, err = target.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	return errors.Join(explain(to, err), target.Close())
}

// salvageRows copies the rows of all tables and returns how many revisions there
// were.
func salvageRows(ctx context.Context, copied string, target *sql.DB, s *Salvaged, progress Progress) (revisions int, err error) {
	// writable_schema makes SQLite accept a file that is shorter than it should be.
	source, err := sql.Open("sqlite", fileURI(copied)+"?mode=rw&_pragma=writable_schema(1)&_pragma=cell_size_check(1)")
	if err != nil {
		return 0, err
	}
	defer source.Close()
	source.SetMaxOpenConns(1)
	tx, err := target.BeginTx(ctx, nil)
	if err != nil {
		return 0, err
	}
	defer tx.Rollback()
	w := salvager{source: source, tx: tx, report: s, torn: map[string]bool{}, named: map[int64]bool{}}
	if !w.hasTables(ctx) {
		return 0, nil
	}
	for i, t := range salvagedTables() {
		if err := w.table(ctx, t); err != nil {
			return 0, err
		}
		if w.torn[t.name] {
			if err := w.carve(ctx, copied, t); err != nil {
				return 0, err
			}
			if err := w.fromIndexes(ctx, t); err != nil {
				return 0, err
			}
		}
		progress.say(int64(i+1), int64(len(salvagedTables())))
	}
	if err := w.finish(ctx); err != nil {
		return 0, err
	}
	err = tx.QueryRowContext(ctx, "SELECT count(*) FROM revision").Scan(&revisions)
	if err != nil || revisions == 0 {
		return 0, err
	}
	return revisions, tx.Commit()
}

// salvagedTable is a table with the column that numbers its rows and the condition
// on which a row can be taken on: what it refers to was saved too.
type salvagedTable struct {
	name, key, columns, condition string
}

// width is the number of columns.
func (t salvagedTable) width() int { return strings.Count(t.columns, ",") + 1 }

func salvagedTables() []salvagedTable {
	const revision = "EXISTS (SELECT 1 FROM revision WHERE id = ?%d)"
	return []salvagedTable{
		{"revision", "id", "id, job, number, origin, reason, saved_at, program, made_on, set_of, which, width_mm, depth_mm, perimeter_mm, area_mm2, within_mm", ""},
		{"job", "number", "number", ""},
		{"words", "revision", "revision, title, customer, contact, place, chair", fmt.Sprintf(revision, 1)},
		{"note", "revision", "revision, text", fmt.Sprintf(revision, 1)},
		{"content", "id", "id, sha256, length, bytes", ""},
		{"part", "id", "id, revision, role, name, content", fmt.Sprintf(revision, 2) + " AND EXISTS (SELECT 1 FROM content WHERE id = ?5)"},
		{"made", "id", "id, revision, saved_at, program, what", fmt.Sprintf(revision, 2)},
		{"signature", "content", "content, scheme, bytes", "EXISTS (SELECT 1 FROM content WHERE id = ?1)"},
		{"forgotten", "id", "id, job, saved_at, parts", "EXISTS (SELECT 1 FROM job WHERE number = ?2)"},
	}
}

type salvager struct {
	source *sql.DB
	tx     *sql.Tx
	report *Salvaged

	named    map[int64]bool  // parts that were told as lost
	torn     map[string]bool // tables that could not be read to their end
	failures int             // reads of the present table that failed one after the other

	roots  map[string]int64  // for carving: where tables begin
	leaves map[int64][]int64 // and the pages of rows by where their table begins
}

// hasTables reports whether the list of tables can be read.
func (w *salvager) hasTables(ctx context.Context) bool {
	var tables int
	err := w.source.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema WHERE name IN ('job', 'revision', 'content')").Scan(&tables)
	return err == nil && tables == 3
}

// table copies the rows of one table: from the first on until one cannot be read,
// from the last back likewise, and what lies between by halves.
func (w *salvager) table(ctx context.Context, t salvagedTable) error {
	low, err := w.run(ctx, t, "ORDER BY "+t.key)
	if err == nil || ctx.Err() != nil {
		return ctx.Err()
	}
	w.torn[t.name] = true
	high, err := w.run(ctx, t, "AND "+t.key+" > ? ORDER BY "+t.key+" DESC", low)
	if err == nil || ctx.Err() != nil {
		return ctx.Err()
	}
	if high == 0 {
		high = w.lastKey(ctx, t, low) + 1
	}
	w.failures = 0
	w.between(ctx, t, low+1, high-1)
	return ctx.Err()
}

// mostFailures is how many reads of a table may fail one after the other before the
// rest of it is given up: with its first page lost every one fails. A lost page holds
// some hundred rows at most, of which halving makes twice as many reads.
const mostFailures = 600

// between copies what can be read of the rows from first to last.
func (w *salvager) between(ctx context.Context, t salvagedTable, first, last int64) {
	if first > last || w.failures > mostFailures || ctx.Err() != nil {
		return
	}
	reached, err := w.run(ctx, t, "AND "+t.key+" BETWEEN ? AND ? ORDER BY "+t.key, first, last)
	if err == nil {
		w.failures = 0
		return
	}
	if w.failures++; reached >= first {
		first, w.failures = reached+1, 0
	}
	if first == last { // what is lost is counted in finish
		return
	}
	middle := first + (last-first)/2
	w.between(ctx, t, first, middle)
	w.between(ctx, t, middle+1, last)
}

// lastKey is the greatest key that the table has had, or a guess beyond low.
func (w *salvager) lastKey(ctx context.Context, t salvagedTable, low int64) int64 {
	var last sql.NullInt64
	const guess = 100_000
	if err := w.source.QueryRowContext(ctx, "SELECT seq FROM sqlite_sequence WHERE name = ?", t.name).Scan(&last); err == nil && last.Int64 > low {
		return last.Int64
	}
	return low + guess
}

// run copies the rows that a query finds until it ends or a row cannot be read; it
// returns the key of the last row that was read, or 0.
func (w *salvager) run(ctx context.Context, t salvagedTable, rest string, args ...any) (last int64, err error) {
	rows, err := w.source.QueryContext(ctx, "SELECT "+t.columns+" FROM "+t.name+" NOT INDEXED WHERE true "+rest, args...)
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	values := make([]any, t.width())
	into := make([]any, len(values))
	for i := range values {
		into[i] = &values[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return last, err
		}
		if n, ok := values[0].(int64); ok {
			last = n
			w.take(ctx, t, values)
		}
	}
	return last, rows.Err()
}

// take stores one row in the new archive unless it is spoilt.
func (w *salvager) take(ctx context.Context, t salvagedTable, values []any) {
	if t.name == "content" && !contentFits(values) {
		return // named in finish, by the parts that miss it
	}
	if t.name == "revision" {
		// The job's own row may be lost.
		_, _ = w.tx.ExecContext(ctx, "INSERT OR IGNORE INTO job (number) VALUES (?)", values[1])
	}
	marks := strings.TrimSuffix(strings.Repeat("?, ", len(values)), ", ")
	statement := "INSERT OR IGNORE INTO " + t.name + " (" + t.columns + ") SELECT " + marks
	if t.condition != "" {
		statement += " WHERE " + t.condition
	}
	result, err := w.tx.ExecContext(ctx, statement, values...)
	if err != nil {
		w.report.lose("row %v of %s makes no sense", values[0], t.name)
		return
	}
	if n, err := result.RowsAffected(); err == nil && n == 0 && t.name == "part" {
		w.losePart(ctx, values)
	}
}

func contentFits(values []any) bool {
	sum, isSum := values[1].([]byte)
	data, isData := values[3].([]byte)
	if values[3] == nil {
		data, isData = []byte{}, true
		values[3] = data
	}
	if !isSum || !isData {
		return false
	}
	now := sha256.Sum256(data)
	return string(now[:]) == string(sum)
}

// losePart names a part that could not be taken on, unless the row is there already.
func (w *salvager) losePart(ctx context.Context, values []any) {
	var there int
	id, _ := values[0].(int64)
	if w.tx.QueryRowContext(ctx, "SELECT count(*) FROM part WHERE id = ?", id).Scan(&there) == nil && there > 0 || w.named[id] {
		return
	}
	w.named[id] = true
	var job, number int
	if err := w.tx.QueryRowContext(ctx, "SELECT job, number FROM revision WHERE id = ?", values[1]).Scan(&job, &number); err != nil {
		w.report.lose("%v of a lost revision", text(values[3]))
		return
	}
	w.report.lose("%v of job %d:%d", text(values[3]), job, number)
}

func text(value any) string { return fmt.Sprintf("%s", value) }
