package archive

import (
	"context"
	"encoding/binary"
	"os"
)

// borrowFirstPage puts the first page of a new archive in place of the first page
// of a damaged one. The first page holds the list of tables with the page at which
// each begins; without it nothing can be found. It is the same in every archive of
// one version: with auto_vacuum SQLite keeps the pages at which tables begin
// together at the beginning of the file, in the order of their making ("Database File
// Format", 1.3.12 and 1.8), and writing the file anew (VACUUM) keeps that order.
//
// The log, if any, is left aside: its pages may be newer than the damage, but the
// numbers at its head cannot be held against a page that is lost.
func borrowFirstPage(ctx context.Context, damaged string) error {
	fresh := damaged + "-new"
	if err := os.WriteFile(fresh, nil, 0o600); err != nil {
		return fileProblem("write", fresh, err)
	}
	if err := initialise(ctx, fresh); err != nil {
		return err
	}
	page, err := os.ReadFile(fresh)
	if err != nil {
		return fileProblem("read", fresh, err)
	}
	page = page[:min(pageSize, len(page))]
	f, err := os.OpenFile(damaged, os.O_RDWR, 0)
	if err != nil {
		return fileProblem("open", damaged, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return fileProblem("read", damaged, err)
	}
	correctHeader(page, info.Size())
	if _, err := f.WriteAt(page, 0); err != nil {
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
