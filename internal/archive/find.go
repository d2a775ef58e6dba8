package archive

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Query says what to look for. Every condition that is given must hold.
type Query struct {
	// Words must all stand somewhere in the newest words, the date or the notes of
	// the job, in any order, as words or parts of words, with or without accents.
	Words string
	// From and To bound the day of the measurement (2006-01-02, both included);
	// the first characters are enough: "2023" or "2023-05".
	From, To string
	// Limit is the greatest number of answers; 0: DefaultLimit.
	Limit int
}

// DefaultLimit is how many jobs a query returns if not said otherwise.
const DefaultLimit = 50

// Found are the answers to a query: the newest revision of each job without its
// parts, and how many jobs there are beyond the limit.
type Found struct {
	Jobs  []Revision
	Total int
}

// Find looks for jobs. The job with the number looked for comes first, then those
// in which every word stands at the beginning of a word, then those that only
// contain them; within each, the latest saved first.
func (a *Archive) Find(ctx context.Context, q Query) (Found, error) {
	terms := termsOf(q.Words)
	hits, err := a.hits(ctx, terms, q)
	if err != nil {
		return Found{}, explain(a.path, err)
	}
	found := Found{Total: len(hits)}
	limit := q.Limit
	if limit <= 0 {
		limit = DefaultLimit
	}
	if hits, err = a.best(ctx, hits, terms, limit); err != nil {
		return Found{}, explain(a.path, err)
	}
	for _, h := range hits {
		r, err := scanRevision(a.db.QueryRowContext(ctx, "SELECT "+revisionColumns+" FROM "+revisionTables+" WHERE r.id = ?", h.revision))
		if err != nil {
			return Found{}, explain(a.path, err)
		}
		found.Jobs = append(found.Jobs, r)
	}
	return found, nil
}

type hit struct {
	job, revision int64 // revision: id of the newest
	rank          int
}

// mostRanked is up to how many answers the words are looked at for the order.
// Beyond it nobody reads them all, and reading the texts takes longer than the search.
const mostRanked = 500

// hits returns the matching jobs. Words of three characters and more
// go through the trigram index; shorter ones (many Chinese and Japanese names)
// are looked for in the text itself.
func (a *Archive) hits(ctx context.Context, terms []string, q Query) ([]hit, error) {
	where, args := conditions(terms, q)
	query := "SELECT s.rowid FROM search s"
	if len(terms) == 0 {
		query = "SELECT s.rowid FROM job s"
	}
	if len(where) > 0 {
		query += " WHERE " + strings.Join(where, " AND ")
	}
	hits, err := collect(ctx, a.db, func(rows *sql.Rows) (h hit, err error) { return h, rows.Scan(&h.job) }, query, args...)
	if err != nil {
		return nil, err
	}
	return a.withNumber(ctx, hits, terms, q)
}

// best returns the first so many of the hits, best first.
func (a *Archive) best(ctx context.Context, hits []hit, terms []string, limit int) ([]hit, error) {
	if len(hits) > mostRanked && limit <= mostRanked {
		return a.latest(ctx, hits, limit)
	}
	if err := a.placeInTime(ctx, hits); err != nil {
		return nil, err
	}
	if len(hits) <= mostRanked {
		if err := a.rank(ctx, hits, terms); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(hits, func(x, y hit) int {
		return cmp.Or(cmp.Compare(x.rank, y.rank), cmp.Compare(y.revision, x.revision))
	})
	return hits[:min(limit, len(hits))], nil
}

// latest returns the job of the number looked for, if it is among the hits, and then
// those that were saved last, by going back through the revisions: the first of a job
// that is met is its newest.
func (a *Archive) latest(ctx context.Context, hits []hit, limit int) ([]hit, error) {
	open := make(map[int64]bool, len(hits))
	var best []hit
	for _, h := range hits {
		open[h.job] = true
		if h.rank == rankNumber {
			open[h.job], best = false, append(best, h)
		}
	}
	if err := a.placeInTime(ctx, best); err != nil {
		return nil, err
	}
	rows, err := a.db.QueryContext(ctx, "SELECT id, job FROM revision ORDER BY id DESC")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for len(best) < limit && rows.Next() {
		var h hit
		if err := rows.Scan(&h.revision, &h.job); err != nil {
			return nil, err
		}
		if open[h.job] {
			open[h.job], best = false, append(best, h)
		}
	}
	return best, rows.Err()
}

func conditions(terms []string, q Query) (where []string, args []any) {
	var long []string
	for _, t := range terms {
		if utf8.RuneCountInString(t) >= 3 {
			long = append(long, `"`+strings.ReplaceAll(t, `"`, `""`)+`"`)
			continue
		}
		where, args = append(where, "instr(s.text, ?)"), append(args, t)
	}
	if len(long) > 0 {
		where, args = append(where, "s.text MATCH ?"), append(args, strings.Join(long, " AND "))
	}
	if q.From != "" || q.To != "" {
		// "2023" includes all days that begin so: \x7f sorts behind every digit.
		where = append(where, `s.rowid IN (SELECT r.job FROM revision r WHERE r.made_on >= ? AND r.made_on <= ? AND r.made_on <> ''
			AND r.number = (SELECT max(number) FROM revision WHERE job = r.job))`)
		args = append(args, q.From, cmp.Or(q.To, "9999")+"\x7f")
	}
	return where, args
}

// placeInTime fills in the newest revision of each job. The index of revisions is in
// the order of jobs and their numbers, so the last one of a job is its newest.
func (a *Archive) placeInTime(ctx context.Context, hits []hit) error {
	const fewer = 100 // than that are looked up one by one
	if len(hits) < fewer {
		for i := range hits {
			err := a.db.QueryRowContext(ctx, "SELECT id FROM revision WHERE job = ? ORDER BY number DESC LIMIT 1", hits[i].job).Scan(&hits[i].revision)
			if err != nil {
				return err
			}
		}
		return nil
	}
	rows, err := a.db.QueryContext(ctx, "SELECT job, id FROM revision ORDER BY job, number")
	if err != nil {
		return err
	}
	defer rows.Close()
	newest := map[int64]int64{}
	for rows.Next() {
		var job, id int64
		if err := rows.Scan(&job, &id); err != nil {
			return err
		}
		newest[job] = id
	}
	for i := range hits {
		hits[i].revision = newest[hits[i].job]
	}
	return rows.Err()
}

// rank looks where in the jobs' texts the words stand.
func (a *Archive) rank(ctx context.Context, hits []hit, terms []string) error {
	if len(terms) == 0 {
		return nil
	}
	for i := range hits {
		if hits[i].rank == rankNumber {
			continue
		}
		var text string
		if err := a.db.QueryRowContext(ctx, "SELECT text FROM search WHERE rowid = ?", hits[i].job).Scan(&text); err != nil {
			return err
		}
		hits[i].rank = rankOf(text, terms)
	}
	return nil
}

// Ranks of answers: below zero, so that the zero value is the last.
const (
	rankNumber = iota - 2 // the job of that number
	rankWords             // every word at the beginning of a word
	rankInside            // somewhere
)

func rankOf(text string, terms []string) int {
	for _, t := range terms {
		if !beginsWord(text, t) {
			return rankInside
		}
	}
	return rankWords
}

// beginsWord reports whether term stands in text at the beginning of a word.
func beginsWord(text, term string) bool {
	for from := 0; ; {
		at := strings.Index(text[from:], term)
		if at < 0 {
			return false
		}
		at += from
		before, _ := utf8.DecodeLastRuneInString(text[:at])
		if at == 0 || !unicode.IsLetter(before) && !unicode.IsDigit(before) {
			return true
		}
		from = at + len(term)
	}
}

// withNumber puts the job of that number first when a number is all that is
// looked for.
func (a *Archive) withNumber(ctx context.Context, hits []hit, terms []string, q Query) ([]hit, error) {
	if len(terms) != 1 || q.From != "" || q.To != "" {
		return hits, nil
	}
	number, err := strconv.ParseInt(strings.TrimPrefix(terms[0], "#"), 10, 64)
	if err != nil {
		return hits, nil
	}
	for i := range hits {
		if hits[i].job == number {
			hits[i].rank = rankNumber
			return hits, nil
		}
	}
	var there int
	if err := a.db.QueryRowContext(ctx, "SELECT count(*) FROM job WHERE number = ?", number).Scan(&there); err != nil || there == 0 {
		return hits, err
	}
	return append(hits, hit{job: number, rank: rankNumber}), nil
}

// indexJob puts the searchable text of a job's newest state into the index.
func indexJob(ctx context.Context, tx *sql.Tx, job int) error {
	text, err := searchTextOf(ctx, tx, job)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "DELETE FROM search WHERE rowid = ?", job); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO search (rowid, text) VALUES (?, ?)", job, text)
	return err
}

// searchTextOf reads the newest words and all notes of a job.
func searchTextOf(ctx context.Context, q querier, job int) (string, error) {
	r, err := scanRevision(q.QueryRowContext(ctx, "SELECT "+revisionColumns+" FROM "+revisionTables+
		" WHERE r.job = ? ORDER BY r.number DESC LIMIT 1", job))
	if err != nil {
		return "", err
	}
	notes, err := collect(ctx, q, func(rows *sql.Rows) (s string, err error) { return s, rows.Scan(&s) },
		"SELECT n.text FROM note n JOIN revision r ON r.id = n.revision WHERE r.job = ? ORDER BY r.number", job)
	return searchText(r, notes), err
}

// searchText is all that a job can be found by.
func searchText(r Revision, notes []string) string {
	lines := []string{r.Title, r.Customer, r.Contact, r.Place, r.Chair, r.MadeOn}
	if r.Width != nil && r.Depth != nil {
		lines = append(lines, fmt.Sprintf("%.0fx%.0f %.0f x %.0f mm", math.Round(*r.Width), math.Round(*r.Depth), *r.Width, *r.Depth))
	}
	return fold(strings.Join(append(lines, notes...), "\n"))
}
