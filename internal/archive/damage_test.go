package archive

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

// shopOf keeps some jobs of different content and closes the archive.
func shopOf(t testing.TB, jobs int) (path string, kept []Entry) {
	t.Helper()
	a := newArchive(t)
	for i := range jobs {
		e := numbered(i)
		kept = append(kept, e)
		mustKeep(t, a, e)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	return a.Path(), kept
}

// numbered is an entry that differs from all others in words and parts.
func numbered(i int) Entry {
	e := someEntry()
	e.Customer = fmt.Sprintf("Customer %d", i)
	e.Width = number(400 + float64(i))
	random := rand.New(rand.NewPCG(uint64(i), 6))
	for j := range e.Parts {
		data := make([]byte, 200+random.IntN(20000))
		for k := range data {
			data[k] = byte(random.Uint32())
		}
		e.Parts[j].Data = data
	}
	return e
}

func TestFilesThatAreNoArchive(t *testing.T) {
	dir := t.TempDir()
	other, err := os.ReadFile(otherDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{
		"empty": {}, "text": []byte("Dear customer,\n"), "short": []byte("SQLite format 3\x00"),
		"zeros": make([]byte, 5*pageSize), "other": other,
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := OpenOrCreate(t.Context(), path, options())
		if problem.KindOf(err) != problem.NotAnArchive {
			t.Errorf("%s: %v, want not an archive", name, err)
		}
		if _, err := Check(t.Context(), path, nil); problem.KindOf(err) != problem.NotAnArchive {
			t.Errorf("checking %s: %v, want not an archive", name, err)
		}
		mustBeUntouched(t, path, data)
	}
	if _, err := Open(t.Context(), dir, options()); problem.KindOf(err) != problem.NotAnArchive {
		t.Errorf("a folder: %v", err)
	}
	if _, err := Open(t.Context(), filepath.Join(dir, "none"), options()); problem.KindOf(err) != problem.FileAccess {
		t.Errorf("a missing file: %v", err)
	}
}

// otherDatabase is a SQLite file that is none of ours: an archive without its mark.
func otherDatabase(t *testing.T) string {
	path, _ := shopOf(t, 1)
	poke(t, path, applicationIDOffset, []byte{0, 0, 0, 0})
	return path
}

// mustBeUntouched sees that a file is what it was and has nothing new beside it.
func mustBeUntouched(t *testing.T, path string, want []byte) {
	t.Helper()
	got, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(got, want) {
		t.Errorf("%s was changed (%v)", filepath.Base(path), err)
	}
	for _, suffix := range []string{"-wal", "-shm", "-journal"} {
		if _, err := os.Stat(path + suffix); err == nil {
			t.Errorf("%s%s was made", filepath.Base(path), suffix)
		}
	}
}

// poke overwrites bytes of a file.
func poke(t testing.TB, path string, at int64, data []byte) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteAt(data, at); err != nil {
		t.Fatal(err)
	}
}

func TestNewerArchiveIsRefusedPolitely(t *testing.T) {
	path, _ := shopOf(t, 2)
	var newer [4]byte
	binary.BigEndian.PutUint32(newer[:], uint32(len(migrationNames())+1))
	poke(t, path, userVersionOffset, newer[:])
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, open := Open(t.Context(), path, options())
	_, check := Check(t.Context(), path, nil)
	_, salvage := Salvage(t.Context(), path, filepath.Join(t.TempDir(), "new"), nil)
	for i, err := range []error{open, check, salvage} {
		if problem.KindOf(err) != problem.ArchiveNewer || !strings.Contains(err.Error(), "newer version") {
			t.Errorf("case %d: %v", i, err)
		}
	}
	mustBeUntouched(t, path, before)
}

// TestNewerVersionInTheLog is a newer program's file whose number has not reached the
// file itself yet.
func TestNewerVersionInTheLog(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	if _, err := a.db.ExecContext(t.Context(), fmt.Sprintf("PRAGMA user_version = %d", len(migrationNames())+1)); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy")
	if err := copyArchive(a.Path(), copied); err != nil {
		t.Fatal(err)
	}
	if err := checkHeader(copied); err != nil {
		t.Fatalf("the number is in the file already: %v", err)
	}
	if _, err := Open(t.Context(), copied, options()); problem.KindOf(err) != problem.ArchiveNewer {
		t.Errorf("%v, want newer", err)
	}
}

// TestRottenContentIsNotHandedOut flips one bit of a kept file.
func TestRottenContentIsNotHandedOut(t *testing.T) {
	path, kept := shopOf(t, 3)
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	// The middle of a run of bytes that stands in one page.
	piece := kept[1].Parts[0].Data[:120]
	at := bytes.Index(file, piece)
	if at < 0 {
		t.Fatal("the content is not found in the file")
	}
	poke(t, path, int64(at)+60, []byte{piece[60] ^ 1})
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	r, err := a.Get(t.Context(), 2, Newest)
	if err != nil {
		t.Fatal(err)
	}
	if data, err := a.Data(t.Context(), r.Parts[0]); problem.KindOf(err) != problem.ArchiveDamaged || data != nil {
		t.Errorf("a rotten part gives %d bytes, %v", len(data), err)
	}
	// A note refers to the part and does not touch it; a change would carry it on.
	if _, err := a.Change(t.Context(), 2, 1, func(*Entry) error { return nil }); problem.KindOf(err) != problem.ArchiveDamaged {
		t.Errorf("a change of a job with a rotten part: %v", err)
	}
	if _, err := a.Note(t.Context(), 2, "x"); err != nil {
		t.Errorf("a note to a job with a rotten part: %v", err)
	}
	h, err := Check(t.Context(), path, nil)
	if err != nil || len(h.Faults) != 1 || !strings.Contains(h.Faults[0], "measurement.json of job 2:1") {
		t.Errorf("%q, %v: want the one fault", h.Faults, err)
	}
	if diff := cmp.Diff(kept[2], loaded(t, a, 3, 1)); diff != "" {
		t.Errorf("another job: %s", diff)
	}
}

// TestDamageIsNeverMadeWorse opens archives with every page spoilt in turn and uses
// them: whatever happens, there is one clear problem or the right answer.
func TestDamageIsNeverMadeWorse(t *testing.T) {
	path, kept := shopOf(t, 12)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	step := 3
	if os.Getenv("FAIREDGE_SLOW") != "" {
		step = 1
	}
	for page := 0; page < len(whole)/pageSize; page += step {
		spoilt := bytes.Clone(whole)
		for i := range pageSize {
			spoilt[page*pageSize+i] ^= byte(i*7 + 1)
		}
		from := filepath.Join(t.TempDir(), "damaged")
		if err := os.WriteFile(from, spoilt, 0o600); err != nil {
			t.Fatal(err)
		}
		h, err := Check(t.Context(), from, nil)
		if err == nil && h.Sound() {
			t.Errorf("page %d: the damage is not seen", page+1)
		}
		mustBeUntouched(t, from, spoilt)
		useDamaged(t, from, kept, page)
	}
}

func useDamaged(t *testing.T, path string, kept []Entry, page int) {
	t.Helper()
	a, err := Open(t.Context(), path, options())
	if err != nil {
		mustBeClear(t, page, err)
		return
	}
	defer a.Close()
	for job := range kept {
		r, err := a.Get(t.Context(), job+1, Newest)
		if err != nil {
			mustBeClear(t, page, err)
			continue
		}
		if r.Words != kept[job].Words {
			t.Errorf("page %d: job %d has wrong words", page+1, job+1)
		}
		for _, p := range r.Parts {
			if data, err := a.Data(t.Context(), p); err != nil {
				mustBeClear(t, page, err)
			} else if !hasPart(kept[job], Part{p.Role, p.Name, data}) {
				t.Errorf("page %d: job %d has a wrong %s", page+1, job+1, p.Name)
			}
		}
	}
	if _, err := a.Find(t.Context(), Query{Words: "customer"}); err != nil {
		mustBeClear(t, page, err)
	}
}

func mustBeClear(t *testing.T, page int, err error) {
	t.Helper()
	switch problem.KindOf(err) {
	case problem.ArchiveDamaged, problem.NotAnArchive, problem.ArchiveNewer, problem.NotKept, problem.FileAccess:
	default:
		t.Errorf("page %d: %v", page+1, err)
	}
}
