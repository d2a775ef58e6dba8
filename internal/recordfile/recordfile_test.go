package recordfile_test

import (
	"errors"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"sync"
	"testing"

	"fairedge/internal/problem"
	"fairedge/internal/recordfile"

	"github.com/google/go-cmp/cmp"
)

type note struct {
	Number int `json:"number"`
}

func notes() recordfile.Kind[note] {
	return recordfile.Kind[note]{
		FileName: "notes.json", List: "notes", Says: "the notes", Again: "write them again",
		Check: func(n note) error {
			if n.Number < 0 {
				return errors.New("it is negative")
			}
			return nil
		},
	}
}

func TestRecordsComeBackInOrder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not", "there", "yet")
	for n := range 3 {
		if err := notes().Add(dir, note{n}); err != nil {
			t.Fatal(err)
		}
	}
	got, err := notes().Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]note{{0}, {1}, {2}}, got); diff != "" {
		t.Errorf("records (-want +got):\n%s", diff)
	}
}

// Without the lock two writers read the same records and one of the two new ones is
// lost.
func TestNoRecordIsLostWhenManyAddAtOnce(t *testing.T) {
	const writers = 30
	dir := t.TempDir()
	var wait sync.WaitGroup
	for n := range writers {
		wait.Go(func() {
			if err := notes().Add(dir, note{n}); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	got, err := notes().Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	sort.Slice(got, func(a, b int) bool { return got[a].Number < got[b].Number })
	if len(got) != writers {
		t.Fatalf("%d records were kept, want %d", len(got), writers)
	}
	for n, r := range got {
		if r.Number != n {
			t.Fatalf("record %d is missing", n)
		}
	}
}

func TestDamagedFileIsNamedAndKept(t *testing.T) {
	for name, text := range map[string]string{
		"cut off":     `{"format":1,"notes":[{"number":`,
		"newer":       `{"format":99,"notes":[]}`,
		"no version":  `{"format":"one"}`,
		"wrong kind":  `{"format":1,"notes":{"number":1}}`,
		"bad record":  `{"format":1,"notes":[{"number":1},{"number":-1}]}`,
		"not a table": `hello`,
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, "notes.json")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		err := notes().Add(dir, note{2})
		if problem.KindOf(err) != problem.FileAccess || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: error = %v, want one that names %s", name, err, path)
		}
		if kept, _ := os.ReadFile(path); string(kept) != text {
			t.Errorf("%s: the file was changed", name)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"format":1,"notes":[{"number":3}]}`))
	f.Add([]byte(`{"format":1}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "notes.json"), data, 0o600); err != nil {
			t.Fatal(err)
		}
		before, err := notes().Read(dir)
		if err != nil {
			return
		}
		if err := notes().Add(dir, note{7}); err != nil {
			t.Fatalf("a file that was read takes no record: %v", err)
		}
		after, err := notes().Read(dir)
		if err != nil || len(after) != len(before)+1 {
			t.Errorf("%d records became %d (%v)", len(before), len(after), err)
		}
	})
}
