package archive

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

// TestSalvage destroys single pages, all kinds of them, and sees what comes out: every
// part that is told as saved has its bytes, the damaged file is as it was.
func TestSalvage(t *testing.T) {
	path, kept := shopOf(t, 40)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	pages := len(whole) / pageSize
	least := map[bool]int{}
	step := 1 + pages/8
	if os.Getenv("FAIREDGE_SLOW") != "" {
		step = 1
	}
	for page := 0; page < pages; page += step {
		spoilt := bytes.Clone(whole)
		for i := range pageSize {
			spoilt[page*pageSize+i] = 0xa5
		}
		jobs, parts := salvageOf(t, spoilt, kept, fmt.Sprintf("page %d", page+1))
		least[true] = max(least[true], len(kept)-jobs)
		least[false] = max(least[false], 3*len(kept)-parts)
	}
	// A page of rows that stand nowhere else (words, contents) is the worst: its rows are lost, the others not.
	if least[true] > 0 || least[false] > 3*len(kept)/2 {
		t.Errorf("one page lost %d jobs, another %d parts", least[true], least[false])
	}
	t.Logf("one of %d pages lost: at worst %d of %d jobs and %d of %d parts were lost", pages, least[true], len(kept), least[false], 3*len(kept))
}

// salvageOf salvages the bytes of an archive and returns how many jobs and parts
// came out right; wrong ones fail the test.
func salvageOf(t *testing.T, spoilt []byte, kept []Entry, what string) (jobs, parts int) {
	t.Helper()
	dir := t.TempDir()
	from, to := filepath.Join(dir, "damaged"), filepath.Join(dir, "salvaged")
	if err := os.WriteFile(from, spoilt, 0o400); err != nil {
		t.Fatal(err)
	}
	s, err := Salvage(t.Context(), from, to, nil)
	mustBeUntouched(t, from, spoilt)
	if err != nil {
		if problem.KindOf(err) != problem.ArchiveDamaged {
			t.Errorf("%s: %v", what, err)
		}
		return 0, 0
	}
	if !s.Sound() {
		t.Errorf("%s: the new archive has faults: %q", what, s.Faults)
	}
	a, err := Open(t.Context(), to, options())
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	defer a.Close()
	for i, want := range kept {
		r, err := a.Get(t.Context(), i+1, 1)
		if err != nil {
			continue
		}
		jobs++
		if r.Words != (Words{}) && r.Words != want.Words || r.Width != nil && *r.Width != *want.Width {
			t.Errorf("%s: job %d is %+v", what, i+1, r)
		}
		for _, p := range r.Parts {
			data, err := a.Data(t.Context(), p)
			if err != nil {
				t.Errorf("%s: %v", what, err)
			}
			if !hasPart(want, Part{p.Role, p.Name, data}) {
				t.Errorf("%s: job %d has a wrong %s", what, i+1, p.Name)
			}
			parts++
		}
	}
	if lost := jobs < len(kept) || parts < 3*len(kept); lost && len(s.Lost) == 0 {
		t.Errorf("%s: %d jobs and %d parts came out, but nothing is told as lost", what, jobs, parts)
	}
	return jobs, parts
}

func hasPart(e Entry, p Part) bool {
	for _, q := range e.Parts {
		if q.Role == p.Role && q.Name == p.Name && bytes.Equal(q.Data, p.Data) {
			return true
		}
	}
	return false
}

// TestSalvageOfALostBeginning destroys what says where the tables are: of an archive as
// it was made, and of one that was written anew by a backup.
func TestSalvageOfALostBeginning(t *testing.T) {
	path, kept := shopOf(t, 10)
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	anew := filepath.Join(t.TempDir(), "anew")
	if _, err := a.Backup(t.Context(), anew, nil); err != nil {
		t.Fatal(err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	for what, file := range map[string]string{"as made": path, "written anew": anew} {
		whole, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		clear(whole[:pageSize])
		if jobs, parts := salvageOf(t, whole, kept, what); jobs != 10 || parts != 30 {
			t.Errorf("%s: %d of 10 jobs, %d of 30 parts", what, jobs, parts)
		}
	}
}

// TestSalvageOfATornFile has only the first part of the file.
func TestSalvageOfATornFile(t *testing.T) {
	path, kept := shopOf(t, 40)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, share := range []int{50, 75, 90} {
		torn := whole[:len(whole)*share/100]
		jobs, parts := salvageOf(t, torn, kept, fmt.Sprintf("%d %%", share))
		if jobs != 40 || parts < 3*40*share/100-15 {
			t.Errorf("%d %% of the file: %d of 40 jobs, %d of 120 parts", share, jobs, parts)
		}
	}
}

// TestSalvageOfNothing has nothing to save and must not leave an empty archive.
func TestSalvageOfNothing(t *testing.T) {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "noise"), filepath.Join(dir, "new")
	if err := os.WriteFile(from, bytes.Repeat([]byte("noise "), 30000), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Salvage(t.Context(), from, to, nil); problem.KindOf(err) != problem.ArchiveDamaged {
		t.Errorf("%v, want damaged", err)
	}
	if _, err := os.Stat(to); err == nil {
		t.Error("an empty archive was left")
	}
}

// TestSalvageOfASoundArchive copies all of it.
func TestSalvageOfASoundArchive(t *testing.T) {
	path, kept := shopOf(t, 5)
	to := filepath.Join(t.TempDir(), "new")
	s, err := Salvage(t.Context(), path, to, nil)
	if err != nil || len(s.Lost) != 0 || !s.Sound() || s.Jobs != 5 || s.Contents != 15 {
		t.Errorf("%+v, %v", s, err)
	}
	a, err := Open(t.Context(), to, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	for i, want := range kept {
		if diff := cmp.Diff(want, loaded(t, a, i+1, 1)); diff != "" {
			t.Error(diff)
		}
	}
	if saved := mustKeep(t, a, someEntry()); saved.Job != 6 {
		t.Errorf("the next job is %d, want 6", saved.Job)
	}
}
