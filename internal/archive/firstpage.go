package archive

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
)

// The first page of a file holds the list of tables with the page at which each
// begins; without it nothing can be found. It is one of two in all archives of one
// version: with auto_vacuum SQLite keeps the pages at which tables and indexes begin
// together at the beginning of the file ("Database File Format", sqlite.org, 1.3.12 and
// 1.8), in the order of their making, or, once the file was written anew (VACUUM: a
// backup, a forgetting), all tables before all indexes.

// layout is where tables and indexes begin.
type layout struct {
	page    []byte           // the first page
	tables  map[string]int64 // by name: page, from 1
	indexes map[string]int64
}

// layouts makes new archives in a folder and returns how they lie: as made, and as
// written anew.
func layouts(ctx context.Context, folder string) ([]layout, error) {
	dir, err := os.MkdirTemp(folder, "layout-*")
	if err != nil {
		return nil, fileProblem("write", folder, err)
	}
	defer os.RemoveAll(dir)
	made, anew := filepath.Join(dir, "made"), filepath.Join(dir, "anew")
	if err := os.WriteFile(made, nil, 0o600); err != nil {
		return nil, fileProblem("write", made, err)
	}
	if err := initialise(ctx, made); err != nil {
		return nil, err
	}
	db, err := connect(ctx, made, readWrite)
	if err != nil {
		return nil, err
	}
	_, err = db.ExecContext(ctx, "VACUUM INTO ?", anew)
	if err := errors.Join(explain(made, err), db.Close()); err != nil {
		return nil, err
	}
	var all []layout
	for _, path := range []string{made, anew} {
		l, err := layoutOf(ctx, path)
		if err != nil {
			return nil, err
		}
		all = append(all, l)
	}
	return all, nil
}

// layoutOf reads the layout of a sound archive.
func layoutOf(ctx context.Context, path string) (layout, error) {
	l := layout{tables: map[string]int64{}, indexes: map[string]int64{}}
	db, err := connect(ctx, path, readOnly)
	if err != nil {
		return l, err
	}
	type root struct {
		kind, name string
		page       int64
	}
	roots, err := collect(ctx, db, func(rows *sql.Rows) (r root, err error) { return r, rows.Scan(&r.kind, &r.name, &r.page) },
		"SELECT type, name, rootpage FROM sqlite_schema WHERE rootpage > 0")
	if err := errors.Join(explain(path, err), db.Close()); err != nil {
		return l, err
	}
	for _, r := range roots {
		if r.kind == "table" {
			l.tables[r.name] = r.page
		} else {
			l.indexes[r.name] = r.page
		}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return l, fileProblem("read", path, err)
	}
	l.page = data[:min(pageSize, len(data))]
	return l, nil
}

// Kinds of tree pages (ibid., 1.6).
const (
	leafOfTable  = 0x0d
	innerOfTable = 0x05
	leafOfIndex  = 0x0a
	innerOfIndex = 0x02
)

// fits counts the tables and indexes that begin at a page of their kind in the file.
func (l layout) fits(c carver) (n int) {
	for _, roots := range []struct {
		pages       map[string]int64
		leaf, inner byte
	}{{l.tables, leafOfTable, innerOfTable}, {l.indexes, leafOfIndex, innerOfIndex}} {
		for _, number := range roots.pages {
			if data, ok := c.page(number); ok && (data[0] == roots.leaf || data[0] == roots.inner) {
				n++
			}
		}
	}
	return n
}

// layoutLike returns the layout of a damaged archive, as its pages show.
func layoutLike(ctx context.Context, damaged string) (layout, error) {
	candidates, err := layouts(ctx, filepath.Dir(damaged))
	if err != nil {
		return layout{}, err
	}
	c, err := openCarver(damaged)
	if err != nil {
		return layout{}, err
	}
	defer c.file.Close()
	best := candidates[0]
	for _, l := range candidates[1:] {
		if l.fits(c) > best.fits(c) {
			best = l
		}
	}
	return best, nil
}

// borrowFirstPage puts the first page of a new archive in place of that of a damaged
// one. The log, if any, is left aside: its pages may be newer than the damage, but the
// numbers at its head cannot be held against a page that is lost.
func borrowFirstPage(ctx context.Context, damaged string) error {
	l, err := layoutLike(ctx, damaged)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(damaged, os.O_RDWR, 0)
	if err != nil {
		return fileProblem("open", damaged, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return fileProblem("read", damaged, err)
	}
	correctHeader(l.page, info.Size())
	if _, err := f.WriteAt(l.page, 0); err != nil {
		return fileProblem("write", damaged, err)
	}
	for _, suffix := range []string{"-wal", "-shm"} {
		_ = os.Remove(damaged + suffix)
	}
	return nil
}

// correctHeader makes the header fit a file of that many bytes (ibid., 1.3).
func correctHeader(page []byte, size int64) {
	const (
		changeCounter   = 24
		sizeInPages     = 28
		firstFreePage   = 32
		freePages       = 36
		versionValidFor = 92
	)
	binary.BigEndian.PutUint32(page[sizeInPages:], uint32(size/pageSize))
	binary.BigEndian.PutUint32(page[firstFreePage:], 0)
	binary.BigEndian.PutUint32(page[freePages:], 0)
	copy(page[versionValidFor:versionValidFor+4], page[changeCounter:changeCounter+4])
}
