package archive

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"

	"fairedge/internal/problem"
)

// Forgotten says what Forget deleted and what it found afterwards.
type Forgotten struct {
	Jobs  []int
	Words int // revisions whose words were deleted
	Notes int
	Parts int // parts of revisions that were deleted: photos, drawings, pictures, ...
	// Elsewhere are other jobs whose words or notes contain the customer's name or
	// contact; they were not touched.
	Elsewhere []int
	// LookedFor are the names and contacts that were looked for in the bytes of the
	// archive's files afterwards. Those below four bytes are not: they would be found by
	// chance in any large file.
	LookedFor []string
	// Confirmed: none of LookedFor stands in the files any more.
	Confirmed bool
}

// JobsOf returns the jobs of a customer, in order: those of which any revision
// ever carried that name. Case and accents make no difference.
func (a *Archive) JobsOf(ctx context.Context, customer string) ([]int, error) {
	type named struct {
		job  int
		name string
	}
	all, err := collect(ctx, a.db, func(rows *sql.Rows) (n named, err error) { return n, rows.Scan(&n.job, &n.name) },
		"SELECT r.job, w.customer FROM words w JOIN revision r ON r.id = w.revision ORDER BY r.job")
	if err != nil {
		return nil, explain(a.path, err)
	}
	wanted := strings.TrimSpace(fold(customer))
	var jobs []int
	for _, n := range all {
		if wanted != "" && strings.TrimSpace(fold(n.name)) == wanted && !slices.Contains(jobs, n.job) {
			jobs = append(jobs, n.job)
		}
	}
	return jobs, nil
}

// Forget deletes the personal data of jobs for good: in all their revisions the
// words, the notes, the record of what was made, the photo, and every drawing and
// picture (they carry the title and show the home). What stays is what cuts a
// cushion: number, dates, sizes, measurement, shape, samples, recipe and pieces,
// with the words taken out of them too. The freed bytes are overwritten, the file is
// written anew without them and its log emptied; then all of it is read to confirm.
//
// It cannot reach copies: backups, and files that were given out.
func (a *Archive) Forget(ctx context.Context, jobs []int) (Forgotten, error) {
	gone := Forgotten{Jobs: slices.Compact(slices.Sorted(slices.Values(jobs)))}
	var personal phrases
	err := a.write(ctx, func(tx *sql.Tx) (err error) {
		for _, job := range gone.Jobs {
			if _, err := newestNumber(ctx, tx, job); err != nil {
				return err
			}
		}
		if personal, err = phrasesOf(ctx, tx, gone.Jobs); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO unlocked (id) VALUES (1)"); err != nil {
			return err
		}
		for _, job := range gone.Jobs {
			if err := a.forgetJob(ctx, tx, job, personal, &gone); err != nil {
				return err
			}
		}
		return closeForgetting(ctx, tx)
	})
	if err != nil {
		return Forgotten{}, err
	}
	if err := a.purge(ctx); err != nil {
		return gone, err
	}
	if gone.Elsewhere, err = a.mentions(ctx, personal.names); err != nil {
		return gone, err
	}
	for _, name := range personal.names {
		if len(name) >= shortestSought {
			gone.LookedFor = append(gone.LookedFor, name)
		}
	}
	remains, err := a.fileHolds(ctx, gone.LookedFor)
	gone.Confirmed = err == nil && !remains && len(gone.LookedFor) > 0
	if err == nil && remains && len(gone.Elsewhere) == 0 {
		err = problem.New(problem.Internal, "the name can still be found in the archive's file after it was deleted", "please report this")
	}
	return gone, err
}

// closeForgetting locks the tables again and writes the index anew: deleted words
// would otherwise live on in its old segments.
func closeForgetting(ctx context.Context, tx *sql.Tx) error {
	for _, step := range []string{
		"DELETE FROM signature WHERE content NOT IN (SELECT content FROM part)",
		"DELETE FROM content WHERE id NOT IN (SELECT content FROM part)",
		"DELETE FROM unlocked",
		"INSERT INTO search (search) VALUES ('rebuild')",
	} {
		if _, err := tx.ExecContext(ctx, step); err != nil {
			return err
		}
	}
	return nil
}

// forgetJob deletes the personal rows of one job.
func (a *Archive) forgetJob(ctx context.Context, tx *sql.Tx, job int, personal phrases, gone *Forgotten) error {
	parts, err := forgetParts(ctx, tx, job, personal)
	if err != nil {
		return err
	}
	gone.Parts += parts
	for _, table := range []struct {
		name  string
		count *int
	}{{"words", &gone.Words}, {"note", &gone.Notes}, {"made", nil}} {
		result, err := tx.ExecContext(ctx, "DELETE FROM "+table.name+" WHERE revision IN (SELECT id FROM revision WHERE job = ?)", job)
		if err != nil {
			return err
		}
		n, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if table.count != nil {
			*table.count += int(n)
		}
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO forgotten (job, saved_at, parts) VALUES (?, ?, ?)", job, a.now(), parts); err != nil {
		return err
	}
	return indexJob(ctx, tx, job)
}

// forgetParts deletes a job's parts that show the person, and replaces documents by
// the same without the words.
func forgetParts(ctx context.Context, tx *sql.Tx, job int, personal phrases) (deleted int, err error) {
	type row struct {
		id, revision int64
		info         PartInfo
	}
	rows, err := collect(ctx, tx, func(rows *sql.Rows) (r row, err error) {
		var sum []byte
		err = rows.Scan(&r.id, &r.revision, &r.info.Role, &r.info.Name, &r.info.content, &sum)
		copy(r.info.SHA256[:], sum)
		return r, err
	}, `SELECT p.id, p.revision, p.role, p.name, p.content, c.sha256 FROM part p JOIN revision r ON r.id = p.revision
		JOIN content c ON c.id = p.content WHERE r.job = ? ORDER BY p.id`, job)
	if err != nil {
		return 0, err
	}
	for _, r := range rows {
		clean, keep, err := withoutWords(ctx, tx, r.info, personal)
		if err != nil {
			return 0, err
		}
		if keep && clean == nil {
			continue
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM part WHERE id = ?", r.id); err != nil {
			return 0, err
		}
		if !keep {
			deleted++
			continue
		}
		if err := addPart(ctx, tx, r.revision, Part{r.info.Role, r.info.Name, clean}); err != nil {
			return 0, err
		}
	}
	return deleted, nil
}

// withoutWords says whether a part may stay, and if it must change for that, into
// what. A damaged part goes: nobody can tell what is in it.
func withoutWords(ctx context.Context, tx *sql.Tx, info PartInfo, personal phrases) (clean []byte, keep bool, err error) {
	switch info.Role {
	case RolePhoto, RoleDrawing, RolePicture:
		return nil, false, nil
	}
	if personal.inName(info.Name) {
		return nil, false, nil
	}
	data, err := contentOf(ctx, tx, info)
	if problem.KindOf(err) == problem.ArchiveDamaged {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	if !json.Valid(data) {
		return nil, !personal.inText(data), nil
	}
	if clean = personal.scrub(data); bytes.Equal(clean, data) {
		return nil, true, nil
	}
	return clean, true, nil
}

// purge makes the deleted bytes go from the files: secure_delete has overwritten the
// rows, VACUUM writes the file anew, the checkpoint moves all of it there and cuts
// the log to nothing.
func (a *Archive) purge(ctx context.Context) error {
	for _, step := range []string{"PRAGMA wal_checkpoint(TRUNCATE)", "VACUUM"} {
		if _, err := a.db.ExecContext(ctx, step); err != nil {
			return notPurged(a.path, err)
		}
	}
	var busy, log, moved int
	if err := a.db.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &log, &moved); err != nil {
		return notPurged(a.path, err)
	}
	if busy != 0 {
		return notPurged(a.path, errors.New("another program reads the archive"))
	}
	return nil
}

func notPurged(path string, cause error) error {
	return problem.Newf(problem.ArchiveBusy,
		"end every other fairedge, see that the disk has as much free space as the archive is large, and run fairedge forget --finish",
		"the data was deleted, but its bytes could not be cleared from %s yet", path).Because(cause)
}

// Purge clears the bytes of everything that was deleted before from the files, when
// Forget could not.
func (a *Archive) Purge(ctx context.Context) error { return a.purge(ctx) }

// mentions returns the jobs in whose words or notes one of the names stands.
func (a *Archive) mentions(ctx context.Context, names []string) ([]int, error) {
	type row struct {
		job  int
		text string
	}
	rows, err := collect(ctx, a.db, func(rows *sql.Rows) (r row, err error) { return r, rows.Scan(&r.job, &r.text) },
		`SELECT r.job, w.title || char(10) || w.customer || char(10) || w.contact || char(10) || w.place || char(10) || w.chair
			FROM words w JOIN revision r ON r.id = w.revision
		UNION ALL SELECT r.job, n.text FROM note n JOIN revision r ON r.id = n.revision ORDER BY 1`)
	if err != nil {
		return nil, explain(a.path, err)
	}
	var jobs []int
	for _, r := range rows {
		text := fold(r.text)
		if !slices.Contains(jobs, r.job) && slices.ContainsFunc(names, func(n string) bool { return strings.Contains(text, fold(n)) }) {
			jobs = append(jobs, r.job)
		}
	}
	return jobs, nil
}

// shortestSought is the least length in bytes of a name that is looked for in the files.
const shortestSought = 4

// fileHolds reads the archive's files byte by byte and reports whether one of the
// names stands in them, as typed or as folded for the index.
func (a *Archive) fileHolds(ctx context.Context, names []string) (bool, error) {
	var needles [][]byte
	for _, n := range names {
		for _, form := range []string{n, fold(n)} {
			if len(form) >= shortestSought {
				needles = append(needles, []byte(form))
			}
		}
	}
	for _, suffix := range []string{"", "-wal"} {
		found, err := fileContains(ctx, a.path+suffix, needles)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil || found {
			return found, err
		}
	}
	return false, nil
}

func fileContains(ctx context.Context, path string, needles [][]byte) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	const overlap = longestWords * 4
	buffer := make([]byte, 0, 1<<20+overlap)
	for {
		n, err := io.ReadFull(f, buffer[len(buffer):cap(buffer)])
		buffer = buffer[:len(buffer)+n]
		for _, needle := range needles {
			if bytes.Contains(buffer, needle) {
				return true, nil
			}
		}
		if err != nil {
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				err = nil
			}
			return false, err
		}
		if ctx.Err() != nil {
			return false, ctx.Err()
		}
		buffer = buffer[:copy(buffer, buffer[len(buffer)-overlap:])]
	}
}
