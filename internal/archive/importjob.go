package archive

import (
	"context"
	"errors"

	"fairedge/internal/problem"
)

// importedJob is the job that is being read.
type importedJob struct {
	Taken
	history
	gone []forgottenForm
	seen map[string]bool
}

// job reads one job of the file and stores it.
func (in *importer) job(ctx context.Context) error {
	j := importedJob{seen: map[string]bool{}}
	if err := in.feed.object(func(name string) error { return in.jobMember(ctx, &j, name) }); err != nil {
		return err
	}
	if j.revisions == 0 {
		return wrong("job %d has no revision", j.There)
	}
	in.done.Jobs = append(in.done.Jobs, j.Taken)
	return indexJob(ctx, in.tx, j.Here)
}

func (in *importer) jobMember(ctx context.Context, j *importedJob, name string) error {
	switch name {
	case memberNumber, memberForgotten, memberRevisions:
	default:
		return in.feed.pass()
	}
	switch {
	case j.seen[name]:
		return wrong("job %d has %q twice", j.There, name)
	case j.seen[memberRevisions]:
		return wrong("the %s of a job stands behind its revisions", name)
	}
	j.seen[name] = true
	switch name {
	case memberNumber:
		return in.feed.value(&j.There, allowToken)
	case memberForgotten:
		return in.feed.value(&j.gone, allowRevision)
	}
	if err := in.insertJob(ctx, j); err != nil {
		return err
	}
	return in.feed.list(func() error { return in.revision(ctx, j) })
}

// mostJobs is beyond every shop.
const mostJobs = 1<<31 - 1

// insertJob gives the job its number here.
func (in *importer) insertJob(ctx context.Context, j *importedJob) error {
	last := 0
	if n := len(in.done.Jobs); n > 0 {
		last = in.done.Jobs[n-1].There
	}
	if j.There <= last || j.There > mostJobs {
		return wrong("its jobs are not in the order of their numbers")
	}
	var number any // the next one
	if in.fresh {
		number = j.There
	}
	result, err := in.tx.ExecContext(ctx, "INSERT INTO job (number) VALUES (?)", number)
	if err != nil {
		return err
	}
	here, err := result.LastInsertId()
	if err != nil {
		return err
	}
	j.Here = int(here)
	return in.insertForgotten(ctx, j)
}

// insertForgotten keeps it known when the job's personal data was deleted.
func (in *importer) insertForgotten(ctx context.Context, j *importedJob) error {
	for _, f := range j.gone {
		if !isTime(f.At) || f.Parts < 0 {
			return wrong("job %d was forgotten at no time", j.There)
		}
		if _, err := in.tx.ExecContext(ctx, "INSERT INTO forgotten (job, saved_at, parts) VALUES (?, ?, ?)", j.Here, f.At, f.Parts); err != nil {
			return err
		}
	}
	j.forgotten = len(j.gone) > 0
	return nil
}

// revision reads and stores the job's next revision.
func (in *importer) revision(ctx context.Context, j *importedJob) error {
	var f revisionForm
	if err := in.feed.value(&f, allowRevision); err != nil {
		return err
	}
	if err := j.check(f); err != nil {
		return wrong("job %d, revision %d: %s", j.There, j.revisions+1, whatOf(err))
	}
	id := in.behind + f.Order
	var there int
	if err := in.tx.QueryRowContext(ctx, "SELECT count(*) FROM revision WHERE id = ?", id).Scan(&there); err != nil {
		return err
	}
	if there > 0 {
		return wrong("two of its revisions have the order %d", f.Order)
	}
	in.highest = max(in.highest, f.Order)
	in.done.Revisions++
	if err := in.insertRevision(ctx, id, j.Here, f); err != nil {
		return err
	}
	return in.parts(ctx, id, j, f)
}

// whatOf is what is wrong, without what a person could do at a keyboard.
func whatOf(err error) string {
	var p *problem.Error
	if errors.As(err, &p) {
		return p.What
	}
	return err.Error()
}

func (in *importer) insertRevision(ctx context.Context, id int64, job int, f revisionForm) error {
	_, err := in.tx.ExecContext(ctx, `INSERT INTO revision
		(id, job, number, origin, reason, saved_at, program, made_on, set_of, which, width_mm, depth_mm, perimeter_mm, area_mm2, within_mm)
		VALUES (?, ?, ?, nullif(?, 0), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		id, job, f.Revision, f.Restored, f.Reason, f.SavedAt, f.Program, f.MadeOn, f.SetOf, f.Which,
		f.Width, f.Depth, f.Perimeter, f.Area, f.Within)
	if err != nil {
		return err
	}
	if w := f.Words; w != nil {
		_, err := in.tx.ExecContext(ctx, "INSERT INTO words (revision, title, customer, contact, place, chair) VALUES (?, ?, ?, ?, ?, ?)",
			id, w.Title, w.Customer, w.Contact, w.Place, w.Chair)
		if err != nil {
			return err
		}
	}
	if f.Note != "" {
		if _, err := in.tx.ExecContext(ctx, "INSERT INTO note (revision, text) VALUES (?, ?)", id, f.Note); err != nil {
			return err
		}
	}
	for _, m := range f.Made {
		_, err := in.tx.ExecContext(ctx, "INSERT INTO made (revision, saved_at, program, what) VALUES (?, ?, ?, ?)", id, m.At, m.Program, m.What)
		if err != nil {
			return err
		}
	}
	return nil
}

// parts ties the revision to documents of the file; what stands in this archive but not
// in the file does not count.
func (in *importer) parts(ctx context.Context, id int64, j *importedJob, f revisionForm) error {
	for _, p := range f.Parts {
		sum, ok := hashOf(p.SHA256)
		content := in.contents[sum]
		if !ok || content == nil {
			return wrong("the document %s of job %d, revision %d, is not in it", p.Name, j.There, f.Revision)
		}
		content.used = true
		_, err := in.tx.ExecContext(ctx, "INSERT INTO part (revision, role, name, content) VALUES (?, ?, ?, ?)", id, p.Role, p.Name, content.id)
		if err != nil {
			return err
		}
	}
	return nil
}
