package archive

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"fairedge/internal/problem"
)

// Exported says how much was written.
type Exported struct {
	Jobs      int   `json:"jobs"`
	Revisions int   `json:"revisions"`
	Contents  int   `json:"contents"`
	Bytes     int64 `json:"content_bytes"`
}

// Export writes jobs with all their revisions and documents, or the whole archive when
// none are named, as one JSON document that stands for itself (FORMAT.md, "The exported
// file"). Day, like 2026-01-31, stands in its head; all else follows from what is kept:
// Import into a new archive and Export give the same bytes.
//
// All of it is one state of the archive, whoever saves meanwhile. In memory is one
// document at a time.
func (a *Archive) Export(ctx context.Context, to io.Writer, jobs []int, day string, progress Progress) (Exported, error) {
	tx, err := a.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return Exported{}, explain(a.path, err)
	}
	defer tx.Rollback()
	x := exporter{archive: a, tx: tx, out: to, progress: progress}
	if x.jobs, err = jobsToExport(ctx, tx, jobs); err != nil {
		return Exported{}, explain(a.path, err)
	}
	if err := x.write(ctx, day); err != nil {
		return Exported{}, explain(a.path, err)
	}
	return x.done, nil
}

// jobsToExport returns the jobs in the order of their numbers.
func jobsToExport(ctx context.Context, q querier, wanted []int) ([]int, error) {
	if len(wanted) == 0 {
		return collect(ctx, q, func(rows *sql.Rows) (n int, err error) { return n, rows.Scan(&n) }, "SELECT number FROM job ORDER BY number")
	}
	wanted = slices.Compact(slices.Sorted(slices.Values(wanted)))
	for _, job := range wanted {
		if _, err := newestNumber(ctx, q, job); err != nil {
			return nil, err
		}
	}
	return wanted, nil
}

type exporter struct {
	archive  *Archive
	tx       *sql.Tx
	out      io.Writer
	progress Progress
	jobs     []int
	order    []int64 // revision.id of all that are written, rising
	done     Exported
}

func (x *exporter) write(ctx context.Context, day string) error {
	chosen, err := json.Marshal(x.jobs)
	if err != nil {
		return err
	}
	x.order, err = collect(ctx, x.tx, func(rows *sql.Rows) (id int64, err error) { return id, rows.Scan(&id) },
		"SELECT id FROM revision WHERE job IN (SELECT value FROM json_each(?)) ORDER BY id", string(chosen))
	if err != nil {
		return err
	}
	program, err := asJSON(x.archive.options.Program)
	if err != nil {
		return err
	}
	if err := x.print("{\n\"%s\": %d,\n\"program\": %s,\n\"date\": %q,\n\"%s\": [", memberFormat, exportFormat, program, day, memberContents); err != nil {
		return err
	}
	if err := x.writeContents(ctx, string(chosen)); err != nil {
		return err
	}
	if err := x.print("\n],\n\"%s\": [", memberJobs); err != nil {
		return err
	}
	for i, job := range x.jobs {
		if err := x.print("%s", separator(i)); err != nil {
			return err
		}
		if err := x.writeJob(ctx, job); err != nil {
			return err
		}
	}
	return x.print("\n]\n}\n")
}

// separator stands before the i-th of a list, each on a line of its own.
func separator(i int) string {
	if i == 0 {
		return "\n"
	}
	return ",\n"
}

func (x *exporter) print(format string, args ...any) error {
	_, err := fmt.Fprintf(x.out, format, args...)
	return err
}

// writeContents writes each document that the jobs refer to once, in the order of the
// SHA-256, which is the same in every archive.
func (x *exporter) writeContents(ctx context.Context, chosen string) error {
	all, err := collect(ctx, x.tx, func(rows *sql.Rows) (p PartInfo, err error) {
		var sum []byte
		err = rows.Scan(&p.content, &sum, &p.Length)
		copy(p.SHA256[:], sum)
		return p, err
	}, `SELECT id, sha256, length FROM content WHERE id IN (SELECT p.content FROM part p JOIN revision r ON r.id = p.revision
		WHERE r.job IN (SELECT value FROM json_each(?))) ORDER BY sha256`, chosen)
	if err != nil {
		return err
	}
	var total int64
	for _, p := range all {
		total += p.Length
	}
	for i, p := range all {
		if err := x.writeContent(ctx, i, p); err != nil {
			return err
		}
		x.done.Contents++
		x.done.Bytes += p.Length
		x.progress.say(x.done.Bytes, max(total, 1))
	}
	return nil
}

func (x *exporter) writeContent(ctx context.Context, i int, info PartInfo) error {
	data, err := contentOf(ctx, x.tx, info)
	if problem.KindOf(err) == problem.ArchiveDamaged {
		info.Name = partsWith(ctx, x.tx, info.content) // to say what it is
		_, err = contentOf(ctx, x.tx, info)
	}
	if err != nil {
		return err
	}
	form := contentFormOf(info.Hash(), data)
	var s signatureForm
	err = x.tx.QueryRowContext(ctx, "SELECT scheme, bytes FROM signature WHERE content = ?", info.content).Scan(&s.Scheme, &s.Base64)
	if err == nil {
		s.Base64 = append([]byte{}, s.Base64...) // none is not null
		form.Signature = &s
	} else if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	return x.writeValue(separator(i), form)
}

func (x *exporter) writeJob(ctx context.Context, job int) error {
	forgotten, err := collect(ctx, x.tx, func(rows *sql.Rows) (f forgottenForm, err error) { return f, rows.Scan(&f.At, &f.Parts) },
		"SELECT saved_at, parts FROM forgotten WHERE job = ? ORDER BY id", job)
	if err != nil {
		return err
	}
	if err := x.print("{\"%s\": %d, ", memberNumber, job); err != nil {
		return err
	}
	if len(forgotten) > 0 {
		if err := x.writeValue("\""+memberForgotten+"\": ", forgotten); err != nil {
			return err
		}
		if err := x.print(", "); err != nil {
			return err
		}
	}
	if err := x.print("\"%s\": [", memberRevisions); err != nil {
		return err
	}
	if err := x.writeRevisions(ctx, job, &history{forgotten: len(forgotten) > 0}); err != nil {
		return err
	}
	x.done.Jobs++
	return x.print("\n]}")
}

func (x *exporter) writeRevisions(ctx context.Context, job int, h *history) error {
	newest, err := newestNumber(ctx, x.tx, job)
	if err != nil {
		return notWhole(job, err)
	}
	for number := 1; number <= newest; number++ {
		r, err := revisionOf(ctx, x.tx, job, number)
		if problem.KindOf(err) == problem.NotKept {
			return notWhole(job, err)
		}
		if err != nil {
			return err
		}
		at, _ := slices.BinarySearch(x.order, r.id)
		form := revisionFormOf(r, int64(at)+1)
		if err := h.check(form); err != nil {
			return notWhole(job, err)
		}
		if err := x.writeValue(separator(number-1), form); err != nil {
			return err
		}
		x.done.Revisions++
	}
	return nil
}

// notWhole says that a job has lost something, as after salvage: what would be written
// could not be read back.
func notWhole(job int, cause error) error {
	return problem.Newf(problem.ArchiveDamaged, "see fairedge check-archive; name the other jobs to export those",
		"job %d is not whole in the archive", job).Because(cause)
}

func (x *exporter) writeValue(before string, value any) error {
	text, err := asJSON(value)
	if err != nil {
		return err
	}
	return x.print("%s%s", before, text)
}

// asJSON writes a value on one line.
func asJSON(value any) ([]byte, error) {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(value); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
}
