package archive

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

// asNobody takes the rights to write anywhere from the file accesses of this
// goroutine (setfsuid(2)) if the tests run as root, who may write to read-only
// folders; others do not need it.
func asNobody(t *testing.T) {
	if os.Getuid() != 0 {
		return
	}
	runtime.LockOSThread()
	const nobody = 65534
	if err := syscall.Setfsuid(nobody); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Setfsuid(0); err == nil {
			runtime.UnlockOSThread()
		}
	})
}

// readOnlyShop is an archive of some jobs in a folder that nobody can write to.
func readOnlyShop(t *testing.T) (path string, kept []Entry) {
	path, kept = shopOf(t, 3)
	for dir := filepath.Dir(path); dir != os.TempDir() && len(dir) > len(os.TempDir()); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o555); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = os.Chmod(dir, 0o755) })
	}
	if err := os.Chmod(path, 0o444); err != nil {
		t.Fatal(err)
	}
	return path, kept
}

func TestReadOnlyPlace(t *testing.T) {
	path, kept := readOnlyShop(t)
	asNobody(t)
	if writable(path) {
		t.Fatal("the place can be written to: this test would see nothing")
	}
	_, err := Open(t.Context(), path, options())
	if problem.KindOf(err) != problem.FileAccess || !strings.Contains(err.Error(), "cannot be written to") {
		t.Errorf("opening for writing: %v", err)
	}
	a, err := Open(t.Context(), path, Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	a.db.SetMaxOpenConns(1)
	for i, want := range kept {
		if diff := cmp.Diff(want, loaded(t, a, i+1, 1)); diff != "" {
			t.Error(diff)
		}
	}
	if got := findJobs(t, a, Query{Words: `"customer 2"`}); !cmp.Equal(got, []int{3}) {
		t.Errorf("found %v", got)
	}
	if _, err := a.Keep(t.Context(), someEntry()); problem.KindOf(err) != problem.FileAccess {
		t.Errorf("saving: %v", err)
	}
	mustBeSound(t, path)
	if err := Create(t.Context(), filepath.Join(filepath.Dir(path), "new")); problem.KindOf(err) != problem.FileAccess {
		t.Errorf("making an archive: %v", err)
	}
}

// TestReadOnlyPlaceWithALog has saves that are only in the log, which cannot be read
// where nothing can be written; leaving them out would be a silent loss.
func TestReadOnlyPlaceWithALog(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	dir := t.TempDir()
	copied := filepath.Join(dir, "copy")
	if err := copyArchive(a.Path(), copied); err != nil {
		t.Fatal(err)
	}
	for _, f := range []string{copied, copied + "-wal"} {
		if err := os.Chmod(f, 0o444); err != nil {
			t.Fatal(err)
		}
	}
	for _, d := range []string{dir, filepath.Dir(dir)} {
		if err := os.Chmod(d, 0o555); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = os.Chmod(d, 0o755) })
	}
	asNobody(t)
	_, err := Open(t.Context(), copied, Options{ReadOnly: true})
	if problem.KindOf(err) != problem.FileAccess || !strings.Contains(err.Error(), "-wal") {
		t.Errorf("%v, want the log named", err)
	}
}

func TestLeftoversOfKilledProgramsGo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a[b]*c")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	ages := map[string]time.Duration{
		".fairedge-1.part": 2 * leftover, ".fairedge-1.part-wal": 2 * leftover, ".fairedge-2.part": time.Hour, "mine.part": 2 * leftover,
	}
	for name, age := range ages {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
		then := time.Now().Add(-age)
		if err := os.Chtimes(path, then, then); err != nil {
			t.Fatal(err)
		}
	}
	if err := Create(t.Context(), filepath.Join(dir, FileName)); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var left []string
	for _, e := range entries {
		left = append(left, e.Name())
	}
	if diff := cmp.Diff([]string{".fairedge-2.part", FileName, "mine.part"}, left); diff != "" {
		t.Error(diff)
	}
}

func TestBackupWhileInUse(t *testing.T) {
	a := newArchive(t)
	for i := range 8 {
		mustKeep(t, a, numbered(i))
	}
	stop, ended := make(chan struct{}), make(chan int)
	go func() { // another program keeps saving
		b, err := Open(t.Context(), a.Path(), options())
		if err != nil {
			t.Error(err)
		}
		defer b.Close()
		for i := 8; ; i++ {
			select {
			case <-stop:
				ended <- i
				return
			default:
				mustKeep(t, b, numbered(i))
			}
		}
	}()
	to := filepath.Join(t.TempDir(), "backup.fairedge")
	var last int64
	h, err := a.Backup(t.Context(), to, func(done, total int64) { last = 100 * done / total })
	close(stop)
	if err != nil || !h.Sound() || h.Jobs < 8 || last != 100 {
		t.Errorf("%+v, %v; progress ended at %d %%", h, err, last)
	}
	if jobs := <-ended; h.Jobs > jobs {
		t.Errorf("the backup has %d of %d jobs", h.Jobs, jobs)
	}
	restoreBackup(t, to, h.Jobs)
	if _, err := a.Backup(t.Context(), to, nil); problem.KindOf(err) != problem.FileExists {
		t.Errorf("a backup over another: %v", err)
	}
}

// restoreBackup puts a copy in an archive's place and works on with it.
func restoreBackup(t *testing.T, backup string, jobs int) {
	t.Helper()
	place := filepath.Join(t.TempDir(), FileName)
	if err := copyFile(backup, place); err != nil {
		t.Fatal(err)
	}
	a, err := Open(t.Context(), place, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	for i := range jobs {
		if diff := cmp.Diff(numbered(i), loaded(t, a, i+1, 1), alike()); diff != "" {
			t.Fatal(diff)
		}
	}
	if saved := mustKeep(t, a, someEntry()); saved.Job != jobs+1 {
		t.Errorf("the next job is %d, want %d", saved.Job, jobs+1)
	}
}

// TestBackupOfADamagedArchive must not pass for a good one.
func TestBackupOfADamagedArchive(t *testing.T) {
	path, kept := shopOf(t, 3)
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := strings.Index(string(file), string(kept[1].Parts[0].Data[:120]))
	if at < 0 {
		t.Fatal("the content is not found in the file")
	}
	poke(t, path, int64(at), []byte{kept[1].Parts[0].Data[0] ^ 1})
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	to := filepath.Join(t.TempDir(), "backup.fairedge")
	if _, err := a.Backup(t.Context(), to, nil); problem.KindOf(err) != problem.ArchiveDamaged {
		t.Errorf("%v, want damaged", err)
	}
	if _, err := os.Stat(to); err == nil {
		t.Error("a damaged backup was left")
	}
}
