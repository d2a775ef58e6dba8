package archive

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// rootOf returns the page at which a table begins, by SQLite's own account.
func rootOf(t *testing.T, path, table string) int64 {
	t.Helper()
	db, err := connect(context.Background(), path, readOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var root int64
	if err := db.QueryRowContext(t.Context(), "SELECT rootpage FROM sqlite_schema WHERE name = ?", table).Scan(&root); err != nil {
		t.Fatal(err)
	}
	return root
}

// TestLostTopOfATable destroys the first page of each table in turn, when the table has
// grown beyond it: no row is on that page, so none may be lost.
func TestLostTopOfATable(t *testing.T) {
	const jobs = 150
	a := newArchive(t)
	a.db.SetMaxOpenConns(1)
	if _, err := a.db.ExecContext(t.Context(), "PRAGMA synchronous = OFF"); err != nil {
		t.Fatal(err)
	}
	var kept []Entry
	for i := range jobs {
		e := numbered(i)
		for j := range e.Parts {
			e.Parts[j].Data = e.Parts[j].Data[:200+i%3*3000%len(e.Parts[j].Data[200:])]
		}
		kept = append(kept, e)
		mustKeep(t, a, e)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(a.Path())
	if err != nil {
		t.Fatal(err)
	}
	tables := []string{"words", "content"}
	if os.Getenv("FAIREDGE_SLOW") != "" {
		tables = append(tables, "revision", "part")
	}
	for _, table := range tables {
		root := rootOf(t, a.Path(), table)
		if whole[(root-1)*pageSize] == leafOfTable {
			t.Fatalf("%s still fits on one page: this test would see nothing", table)
		}
		spoilt := bytes.Clone(whole)
		clear(spoilt[(root-1)*pageSize:][:pageSize])
		if gotJobs, parts := salvageOf(t, spoilt, kept, "top of "+table); gotJobs != jobs || parts != 3*jobs {
			t.Errorf("without the top of %s: %d of %d jobs, %d of %d parts", table, gotJobs, jobs, parts, 3*jobs)
		}
	}
}

// TestCarverFindsEveryRow compares the rows found page by page with those that SQLite
// finds.
func TestCarverFindsEveryRow(t *testing.T) {
	path, _ := shopOf(t, 60)
	anew := filepath.Join(t.TempDir(), "anew")
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Backup(t.Context(), anew, nil); err != nil {
		t.Fatal(err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	t.Run("as made", func(t *testing.T) { checkCarver(t, path) })
	t.Run("written anew", func(t *testing.T) { checkCarver(t, anew) })
}

func checkCarver(t *testing.T, path string) {
	l, err := layoutLike(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	c, err := openCarver(path)
	if err != nil {
		t.Fatal(err)
	}
	defer c.file.Close()
	leaves, err := c.leaves(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	db, err := connect(t.Context(), path, readOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, table := range salvagedTables() {
		carved := map[int64]string{}
		for _, page := range leaves[l.tables[table.name]] {
			c.rows(page, func(values []any) { carved[values[0].(int64)] = fmt.Sprint(values...) })
		}
		rows, err := db.QueryContext(t.Context(), "SELECT "+table.columns+" FROM "+table.name)
		if err != nil {
			t.Fatal(err)
		}
		values, into := make([]any, table.width()), make([]any, table.width())
		for i := range values {
			into[i] = &values[i]
		}
		n := 0
		for ; rows.Next(); n++ {
			if err := rows.Scan(into...); err != nil {
				t.Fatal(err)
			}
			if key := values[0].(int64); carved[key] != fmt.Sprint(values...) {
				t.Errorf("%s %d: carved %.100q, SQLite has %.100q", table.name, key, carved[key], fmt.Sprint(values...))
			}
		}
		if len(carved) != n {
			t.Errorf("%s: %d rows carved, %d there", table.name, len(carved), n)
		}
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// FuzzRecord takes any bytes for a row.
func FuzzRecord(f *testing.F) {
	path := filepath.Join("testdata", "v1.fairedge")
	data, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	for page := 2; page < len(data)/pageSize; page++ {
		f.Add(data[page*pageSize:][:pageSize])
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		path := filepath.Join(t.TempDir(), "x")
		if err := os.WriteFile(path, append(make([]byte, 2*pageSize), data...), 0o600); err != nil {
			t.Fatal(err)
		}
		file, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		c := carver{file, int64(2+len(data)/pageSize) + 1}
		c.rows(3, func([]any) {})
		c.root(3)
		record(data)
	})
}
