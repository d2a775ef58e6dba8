package archive

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"

	"fairedge/internal/problem"
)

// ImportFile is an exported file to be read.
type ImportFile struct {
	Name string    // for sentences
	From io.Reader // read once, from the beginning
	Size int64     // bytes, for progress
	// Sound reports whether a signature can be used; others are left out, they can be
	// made again. nil: all are taken.
	Sound func(scheme string, signature []byte) bool
}

// Taken is a job that was taken in: its number in the file, and in this archive.
type Taken struct {
	There int `json:"there"`
	Here  int `json:"here"`
}

// Imported says what was taken in, in the order of the file.
type Imported struct {
	Jobs      []Taken `json:"jobs"`
	Revisions int     `json:"revisions"`
	Contents  int     `json:"contents"` // that were not here yet
}

// Renumbered reports whether any job has another number here.
func (i Imported) Renumbered() bool {
	for _, t := range i.Jobs {
		if t.There != t.Here {
			return true
		}
	}
	return false
}

// Import takes in what Export wrote: all of it in one transaction, or nothing. An archive
// without jobs gets the numbers, revisions, times and order of the file; in one that has
// jobs they become new jobs with new numbers, saved after all others. Nothing that is
// here is changed. Every document is held against its SHA-256. In memory is one document
// at a time, and of the others their hashes.
//
// A file that is no export or contradicts itself is refused (kind NotAnArchive), as are
// one of a newer version (ArchiveNewer) and one with changed bytes (ArchiveDamaged).
func (a *Archive) Import(ctx context.Context, file ImportFile, progress Progress) (Imported, error) {
	in := importer{archive: a, file: file, contents: map[[32]byte]*importedContent{}}
	in.feed = newFeed(ctx, file.From, func(read int64) { progress.say(read, max(file.Size, 1)) })
	err := a.write(ctx, func(tx *sql.Tx) error {
		in.tx = tx
		return in.explain(in.all(ctx))
	})
	if err != nil {
		return Imported{}, err
	}
	return in.done, nil
}

type importer struct {
	archive  *Archive
	tx       *sql.Tx
	file     ImportFile
	feed     *feed
	fresh    bool  // the archive has no jobs: numbers stay as they are
	behind   int64 // revision.id of the last one that was here before
	format   int   // as the file says; 0: not yet
	seen     map[string]bool
	contents map[[32]byte]*importedContent
	highest  int64 // order in the file
	done     Imported
}

// importedContent is the row of a document of the file.
type importedContent struct {
	id   int64
	used bool
}

// badFile is a fault of the file's contents, told with its place.
type badFile struct{ what string }

func (b badFile) Error() string { return b.what }

func wrong(format string, args ...any) error { return badFile{fmt.Sprintf(format, args...)} }

// explain makes the sentence of a failure.
func (in *importer) explain(err error) error {
	var bad badFile
	switch {
	case err == nil:
		return nil
	case errors.Is(err, errForm), errors.Is(err, errTooLong), errors.Is(err, errNotText), errors.Is(err, errEndsHere), errors.As(err, &bad):
		return problem.Newf(problem.NotAnArchive, "export it again; nothing was changed",
			"%s cannot be imported: %v", in.file.Name, err)
	case in.feed.source.err != nil && errors.Is(err, in.feed.source.err) && !errors.Is(err, context.Canceled):
		return fileProblem("read", in.file.Name, err)
	}
	return err
}

func (in *importer) all(ctx context.Context) error {
	var jobs int
	err := in.tx.QueryRowContext(ctx, "SELECT (SELECT count(*) FROM job), (SELECT coalesce(max(id), 0) FROM revision)").Scan(&jobs, &in.behind)
	if err != nil {
		return err
	}
	in.fresh, in.seen = jobs == 0, map[string]bool{}
	if err := in.feed.object(func(name string) error { return in.member(ctx, name) }); err != nil {
		return err
	}
	if err := in.feed.end(); err != nil {
		return err
	}
	return in.checkWhole()
}

func (in *importer) member(ctx context.Context, name string) error {
	if in.seen[name] {
		return wrong("it has %q twice", name)
	}
	switch name {
	case memberFormat, memberContents, memberJobs:
		in.seen[name] = true
	}
	switch name {
	case memberFormat:
		if err := in.feed.value(&in.format, allowToken); err != nil {
			return err
		}
		return in.checkFormat()
	case memberContents:
		if in.seen[memberJobs] {
			return wrong("its contents stand behind its jobs")
		}
		return in.feed.list(func() error { return in.content(ctx) })
	case memberJobs:
		return in.feed.list(func() error { return in.job(ctx) })
	}
	return in.feed.pass()
}

func (in *importer) checkFormat() error {
	if in.format > exportFormat {
		return problem.Newf(problem.ArchiveNewer, "import it with that version; nothing was changed",
			"%s was written by a newer version of fairedge (format %d, this one knows %d)", in.file.Name, in.format, exportFormat)
	}
	if in.format < 1 {
		return wrong("its format %d is not known", in.format)
	}
	return nil
}

// checkWhole sees that the file was an export and that nothing in it hangs in the air.
func (in *importer) checkWhole() error {
	switch {
	case in.format == 0 || !in.seen[memberContents] || !in.seen[memberJobs]:
		return wrong("it is no exported archive")
	case in.highest != int64(in.done.Revisions):
		return wrong("the order of its revisions has gaps")
	}
	for sum, c := range in.contents {
		if !c.used {
			return wrong("no job refers to the document %x", sum)
		}
	}
	return nil
}

// content stores one document of the file.
func (in *importer) content(ctx context.Context) error {
	var form contentForm
	if err := in.feed.value(&form, allowContent); err != nil {
		return err
	}
	sum, ok := hashOf(form.SHA256)
	data, one := form.bytes()
	switch {
	case !ok || !one || len(data) > largestPart:
		return wrong("document %d of it makes no sense", len(in.contents)+1)
	case in.contents[sum] != nil:
		return wrong("the document %x is there twice", sum)
	case sha256.Sum256(data) != sum:
		return problem.Newf(problem.ArchiveDamaged, "export it again; nothing was changed",
			"%s is damaged: the bytes of the document %x are not those that were kept", in.file.Name, sum)
	}
	known, err := in.isHere(ctx, sum)
	if err != nil {
		return err
	}
	id, err := addContent(ctx, in.tx, data)
	if err != nil {
		return err
	}
	in.contents[sum] = &importedContent{id: id}
	if known {
		return nil
	}
	in.done.Contents++
	return in.signature(ctx, id, form.Signature)
}

func hashOf(text string) (sum [32]byte, ok bool) {
	b, err := hex.DecodeString(text)
	copy(sum[:], b)
	return sum, err == nil && len(b) == len(sum) && hex.EncodeToString(b) == text
}

func (in *importer) isHere(ctx context.Context, sum [32]byte) (bool, error) {
	var rows int
	err := in.tx.QueryRowContext(ctx, "SELECT count(*) FROM content WHERE sha256 = ?", sum[:]).Scan(&rows)
	return rows > 0, err
}

func (in *importer) signature(ctx context.Context, content int64, s *signatureForm) error {
	if s == nil || in.file.Sound != nil && !in.file.Sound(s.Scheme, s.Base64) {
		return nil
	}
	if s.Base64 == nil {
		s.Base64 = []byte{} // NULL is not the same as no bytes
	}
	if err := checkText("scheme", s.Scheme); err != nil {
		return wrong("%v", err)
	}
	_, err := in.tx.ExecContext(ctx, "INSERT INTO signature (content, scheme, bytes) VALUES (?, ?, ?)", content, s.Scheme, s.Base64)
	return err
}
