package archive

import (
	"context"
	"database/sql"

	"fairedge/internal/problem"
)

// Signature is what shapes are compared by: opaque bytes of a scheme (package
// likeness), for the newest shape of a job. It follows from the shape and can be made
// again at any time.
type Signature struct {
	Job, Revision int
	SetOf, Which  int
	Scheme        string
	Bytes         []byte
}

// SetSignature stores the signature of the shape that a revision holds; one of
// another scheme is replaced.
func (a *Archive) SetSignature(ctx context.Context, of Saved, scheme string, signature []byte) error {
	return a.write(ctx, func(tx *sql.Tx) error {
		r, err := revisionOf(ctx, tx, of.Job, of.Revision)
		if err != nil {
			return err
		}
		shape, ok := r.Part(RoleShape, "")
		if !ok {
			return noShape(of)
		}
		_, err = tx.ExecContext(ctx, "INSERT OR REPLACE INTO signature (content, scheme, bytes) VALUES (?, ?, ?)", shape.content, scheme, signature)
		return err
	})
}

func noShape(of Saved) error {
	return problem.Newf(problem.NotKept, "keep it again from its files", "job %d:%d was kept without its shape", of.Job, of.Revision)
}

// Signatures calls visit with the signature of each job's newest shape, in the
// order of the jobs, until visit returns false. Bytes are valid only during the call.
// Jobs whose shape has no signature of that scheme are left out; Unsigned lists them.
func (a *Archive) Signatures(ctx context.Context, scheme string, visit func(Signature) bool) error {
	rows, err := a.db.QueryContext(ctx, `SELECT r.job, r.number, r.set_of, r.which, s.bytes
		FROM job j
		JOIN revision r ON r.job = j.number AND r.number = (SELECT max(number) FROM revision WHERE job = j.number)
		JOIN part p ON p.revision = r.id AND p.role = 'shape'
		JOIN signature s ON s.content = p.content AND s.scheme = ?
		ORDER BY j.number`, scheme)
	if err != nil {
		return explain(a.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		s := Signature{Scheme: scheme}
		var data sql.RawBytes
		if err := rows.Scan(&s.Job, &s.Revision, &s.SetOf, &s.Which, &data); err != nil {
			return explain(a.path, err)
		}
		if s.Bytes = data; !visit(s) {
			return nil
		}
	}
	return explain(a.path, rows.Err())
}

// Unsigned returns the newest revisions whose shape has no signature of the scheme.
func (a *Archive) Unsigned(ctx context.Context, scheme string) ([]Saved, error) {
	all, err := collect(ctx, a.db, func(rows *sql.Rows) (s Saved, err error) { return s, rows.Scan(&s.Job, &s.Revision) },
		`SELECT r.job, r.number FROM job j
		JOIN revision r ON r.job = j.number AND r.number = (SELECT max(number) FROM revision WHERE job = j.number)
		JOIN part p ON p.revision = r.id AND p.role = 'shape'
		WHERE NOT EXISTS (SELECT 1 FROM signature s WHERE s.content = p.content AND s.scheme = ?)
		ORDER BY j.number`, scheme)
	return all, explain(a.path, err)
}
