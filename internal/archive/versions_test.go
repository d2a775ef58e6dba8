package archive

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// fillForVersions does what an archive of any version must still tell: it makes the
// files testdata/v*.fairedge, whose contents the test below knows from here.
func fillForVersions(t *testing.T, a *Archive) {
	ctx := t.Context()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	mustKeep(t, a, someEntry())
	for i := range 5 {
		mustKeep(t, a, versionEntry(i))
	}
	_, err := a.Change(ctx, 1, 1, func(e *Entry) error { e.Chair = "ladder-back, ash"; return nil })
	must(err)
	_, err = a.Note(ctx, 1, "縁取りは緑")
	must(err)
	_, err = a.Restore(ctx, 1, 1)
	must(err)
	must(a.Record(ctx, Saved{1, 2}, "7 files"))
	must(a.SetSignature(ctx, Saved{2, 1}, "test 1", []byte{1, 2, 3}))
	_, err = a.Forget(ctx, []int{6})
	must(err)
}

// versionEntry is job i+2 of those archives.
func versionEntry(i int) Entry {
	e := someEntry()
	e.Customer = fmt.Sprintf("Customer %d, กขค", i)
	e.Parts = append(e.Parts, Part{RoleShape, "shape.json", fmt.Appendf(nil, `{"fairedge_shape":1,"n":%d}`, i)})
	return e
}

// TestEveryOlderVersionOpens opens a copy of an archive of each version that there
// has been. When a migration is added, run
//
//	FAIREDGE_WRITE_ARCHIVE=testdata/vN.fairedge go test -run EveryOlderVersion ./internal/archive
//
// before it, so that the last version before it is kept.
func TestEveryOlderVersionOpens(t *testing.T) {
	if to := os.Getenv("FAIREDGE_WRITE_ARCHIVE"); to != "" {
		a := newArchive(t)
		fillForVersions(t, a)
		if _, err := a.Backup(t.Context(), to, nil); err != nil {
			t.Fatal(err)
		}
	}
	for version := 1; version <= len(migrationNames()); version++ {
		name := fmt.Sprintf("v%d.fairedge", version)
		path := filepath.Join(t.TempDir(), name)
		if err := copyFile(filepath.Join("testdata", name), path); err != nil {
			t.Fatalf("there is no archive of version %d: %v", version, err)
		}
		h, err := Check(t.Context(), path, nil)
		if err != nil || h.Format != version {
			t.Fatalf("%s is of version %d (%v): it must stay as it was made", name, h.Format, err)
		}
		t.Run(name, func(t *testing.T) { checkVersionContents(t, path) })
	}
}

// TestOlderArchiveIsRenewedWhenRead looks into an archive of an older version without
// meaning to save.
func TestOlderArchiveIsRenewedWhenRead(t *testing.T) {
	for _, readOnly := range []bool{true, false} {
		path := filepath.Join(t.TempDir(), FileName)
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := mark(t.Context(), path); err != nil {
			t.Fatal(err)
		}
		a, err := Open(t.Context(), path, Options{ReadOnly: readOnly})
		if err != nil {
			t.Fatal(err)
		}
		if jobs, _, err := a.Count(t.Context()); jobs != 0 || err != nil {
			t.Errorf("%d jobs, %v", jobs, err)
		}
		if err := a.Close(); err != nil {
			t.Error(err)
		}
		if h := mustBeSound(t, path); h.Format != len(migrationNames()) {
			t.Errorf("version %d after opening", h.Format)
		}
	}
}

func checkVersionContents(t *testing.T, path string) {
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	ctx := t.Context()
	history, err := a.History(ctx, 1)
	if err != nil || len(history) != 4 || history[2].Note != "縁取りは緑" || history[3].RestoredOf != 1 || len(history[1].Made) != 1 {
		t.Errorf("history %+v, %v", history, err)
	}
	if diff := cmp.Diff(someEntry(), loaded(t, a, 1, 1), alike()); diff != "" {
		t.Error(diff)
	}
	for i := range 4 {
		if diff := cmp.Diff(versionEntry(i), loaded(t, a, i+2, 1), alike()); diff != "" {
			t.Error(diff)
		}
	}
	if r, err := a.Get(ctx, 6, Newest); err != nil || !r.WordsGone {
		t.Errorf("the forgotten job: %+v, %v", r, err)
	}
	var signed []Signature
	if err := a.Signatures(ctx, "test 1", func(s Signature) bool { signed = append(signed, s); return true }); err != nil || len(signed) != 1 || signed[0].Job != 2 {
		t.Errorf("signatures %+v, %v", signed, err)
	}
	if got := findJobs(t, a, Query{Words: "กขค"}); !cmp.Equal(got, []int{5, 4, 3, 2}) {
		t.Errorf("found %v", got)
	}
	if saved := mustKeep(t, a, someEntry()); saved.Job != 7 {
		t.Errorf("the next job is %d, want 7", saved.Job)
	}
	mustBeSound(t, path)
}
