package safefile_test

import (
	"bytes"
	"os"
	"path/filepath"
	"sort"
	"testing"

	"fairedge/internal/problem"
	"fairedge/internal/safefile"

	"github.com/google/go-cmp/cmp"
)

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if os.IsNotExist(err) {
		return nil
	}
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	sort.Strings(out)
	return out
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestWriteSetStoresEveryFileAndNothingElse(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "folder")
	files := []safefile.File{{Name: "a.svg", Data: []byte("one")}, {Name: "b.pdf", Data: nil}}
	if err := safefile.WriteSet(dir, files, safefile.Refuse); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"a.svg", "b.pdf"}, names(t, dir)); diff != "" {
		t.Errorf("names in folder (-want +got):\n%s", diff)
	}
	if got := read(t, filepath.Join(dir, "a.svg")); string(got) != "one" {
		t.Errorf("a.svg holds %q, want %q", got, "one")
	}
}

func TestWriteSetRefusesAnExistingNameAndLeavesAllAsItWas(t *testing.T) {
	dir := t.TempDir()
	old := filepath.Join(dir, "b.pdf")
	if err := os.WriteFile(old, []byte("the customer's"), 0o600); err != nil {
		t.Fatal(err)
	}
	err := safefile.WriteSet(dir, []safefile.File{{Name: "a.svg", Data: []byte("x")}, {Name: "b.pdf", Data: []byte("y")}}, safefile.Refuse)
	if got := problem.KindOf(err); got != problem.FileExists {
		t.Errorf("kind = %v, want %v (%v)", got, problem.FileExists, err)
	}
	if diff := cmp.Diff([]string{"b.pdf"}, names(t, dir)); diff != "" {
		t.Errorf("names in folder (-want +got):\n%s", diff)
	}
	if got := read(t, old); string(got) != "the customer's" {
		t.Errorf("the existing file was changed to %q", got)
	}
}

func TestWriteSetReplacesWhenAsked(t *testing.T) {
	dir := t.TempDir()
	for _, text := range []string{"first", "second"} {
		if err := safefile.WriteSet(dir, []safefile.File{{Name: "a", Data: []byte(text)}}, safefile.Replace); err != nil {
			t.Fatal(err)
		}
	}
	if got := read(t, filepath.Join(dir, "a")); string(got) != "second" {
		t.Errorf("a holds %q, want %q", got, "second")
	}
	if diff := cmp.Diff([]string{"a"}, names(t, dir)); diff != "" {
		t.Errorf("names in folder (-want +got):\n%s", diff)
	}
}

// A folder in the way of the second file makes the set fail after the first was
// placed: the first must be taken back, and folders made for the set removed.
func TestFailedSetLeavesNothingBehind(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made", "here")
	files := []safefile.File{{Name: "a", Data: []byte("x")}, {Name: "a", Data: []byte("y")}}
	err := safefile.WriteSet(dir, files, safefile.Refuse)
	if err == nil {
		t.Fatal("two files of one name were accepted")
	}
	if got := names(t, filepath.Dir(filepath.Dir(dir))); len(got) != 0 {
		t.Errorf("left behind: %v", got)
	}
}

func TestFileInTheWayOfTheFolderIsNamed(t *testing.T) {
	base := t.TempDir()
	inTheWay := filepath.Join(base, "file")
	if err := os.WriteFile(inTheWay, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	err := safefile.WriteSet(filepath.Join(inTheWay, "sub"), []safefile.File{{Name: "a"}}, safefile.Refuse)
	if problem.KindOf(err) != problem.FileAccess {
		t.Errorf("error = %v, want kind %v", err, problem.FileAccess)
	}
}

func TestNamesThatLeaveTheFolderAreRefused(t *testing.T) {
	for _, name := range []string{"", ".", "..", "../a", "a/b"} {
		err := safefile.WriteSet(t.TempDir(), []safefile.File{{Name: name}}, safefile.Replace)
		if problem.KindOf(err) != problem.Usage {
			t.Errorf("name %q: error = %v, want kind %v", name, err, problem.Usage)
		}
	}
}

func TestWriteFileKeepsTheBytes(t *testing.T) {
	path := filepath.Join(t.TempDir(), "cards.pdf")
	data := bytes.Repeat([]byte{0, 1, 2, 255}, 1<<16)
	if err := safefile.WriteFile(path, data, safefile.Refuse); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(read(t, path), data) {
		t.Error("the file does not hold what was written")
	}
}
