package archive

import (
	"context"
	"database/sql"
)

// An index holds the columns it sorts by and the number of each row, on pages of its
// own. Rows that are lost with the table's pages can be put together again from them:
// those of part completely, those of revision but for dates and sizes.

// fromIndexes puts rows of a torn table together from its indexes.
func (w *salvager) fromIndexes(ctx context.Context, t salvagedTable) error {
	switch t.name {
	case "revision":
		return w.revisionsFromIndex(ctx, t)
	case "part":
		return w.partsFromIndexes(ctx, t)
	}
	return nil
}

// revisionsFromIndex restores which revision of which job a lost row was.
func (w *salvager) revisionsFromIndex(ctx context.Context, t salvagedTable) error {
	type row struct{ id, job, number int64 }
	rows, _ := collectUntil(ctx, w.source, func(rows *sql.Rows) (r row, err error) { return r, rows.Scan(&r.id, &r.job, &r.number) },
		"SELECT id, job, number FROM revision INDEXED BY sqlite_autoindex_revision_1 WHERE job > 0")
	for _, r := range rows {
		there, err := w.has(ctx, "revision", r.id)
		if err != nil {
			return err
		}
		if there {
			continue
		}
		reason := Changed
		if r.number == 1 {
			reason = Kept
		}
		w.take(ctx, t, []any{r.id, r.job, r.number, nil, string(reason), "", "", "", 0, 0, nil, nil, nil, nil, nil})
		w.report.lose("dates and sizes of job %d:%d", r.job, r.number)
	}
	return ctx.Err()
}

// partsFromIndexes joins the two indexes of part by the numbers of the rows.
func (w *salvager) partsFromIndexes(ctx context.Context, t salvagedTable) error {
	type pair struct{ id, content int64 }
	contents := map[int64]int64{}
	pairs, _ := collectUntil(ctx, w.source, func(rows *sql.Rows) (p pair, err error) { return p, rows.Scan(&p.id, &p.content) },
		"SELECT id, content FROM part INDEXED BY part_content WHERE content > 0")
	for _, p := range pairs {
		contents[p.id] = p.content
	}
	type row struct {
		id, revision int64
		role, name   string
	}
	rows, _ := collectUntil(ctx, w.source, func(rows *sql.Rows) (r row, err error) {
		return r, rows.Scan(&r.id, &r.revision, &r.role, &r.name)
	}, "SELECT id, revision, role, name FROM part INDEXED BY sqlite_autoindex_part_1 WHERE revision > 0")
	for _, r := range rows {
		if content, known := contents[r.id]; known {
			w.take(ctx, t, []any{r.id, r.revision, r.role, r.name, content})
		}
	}
	return ctx.Err()
}

// has reports whether a row was saved.
func (w *salvager) has(ctx context.Context, table string, id int64) (bool, error) {
	var n int
	err := w.tx.QueryRowContext(ctx, "SELECT count(*) FROM "+table+" WHERE id = ?", id).Scan(&n)
	return n > 0, err
}

// collectUntil is collect that also returns what it read before a failure.
func collectUntil[T any](ctx context.Context, q querier, scan func(*sql.Rows) (T, error), query string, args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return all, err
		}
		all = append(all, one)
	}
	return all, rows.Err()
}
