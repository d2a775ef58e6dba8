package archive

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

// secretEntry is a job whose every text names the customer, in a spelling that
// stands nowhere else.
func secretEntry(name string) Entry {
	e := someEntry()
	e.Words = Words{Title: name + "'s chair", Customer: name, Contact: name + "@example.org", Place: "with " + name, Chair: "of " + name}
	e.Note = "call " + name
	e.Parts = []Part{
		{RoleMeasurement, "measurement.json", []byte(`{"format":1,"job":"` + name + `'s chair","edges":[{"name":"back"}],"size":{"width":412.345}}`)},
		{RoleShape, "shape.json", []byte(`{"fairedge_shape":1,"name":"` + name + `","outline":[[1.5,2]],"provenance":"seen at ` + name + ` by us"}`)},
		{RoleRecipe, "recipe.toml", []byte("piping = 5\n")},
		{RolePiece, "warnings.json", []byte(`["` + strings.ToLower(name) + `","back"]`)},
		{RolePiece, "top.svg", []byte("<svg>" + name + "</svg>")},
		{RoleDrawing, "foam-outline.svg", []byte("<svg>" + name + "</svg>")},
		{RolePicture, "check.jpg", []byte("picture of the home of " + name)},
		{RolePhoto, "photo.jpg", bytes.Repeat([]byte(name+" "), 9000)},
	}
	return e
}

func filesContain(t *testing.T, path, name string) (where []string) {
	t.Helper()
	for _, suffix := range []string{"", "-wal", "-shm", "-journal"} {
		data, err := os.ReadFile(path + suffix)
		if err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
		if bytes.Contains(bytes.ToLower(data), []byte(strings.ToLower(name))) {
			where = append(where, path+suffix)
		}
	}
	return where
}

// TestForgettingIsComplete reads the bytes of the files: the name must be gone from
// them, and what cuts the cushion must be there still.
func TestForgettingIsComplete(t *testing.T) {
	a := newArchive(t)
	const name = "Quixotescu"
	other := someEntry()
	mustKeep(t, a, other)
	mustKeep(t, a, secretEntry(name))
	for i := range 30 { // pages that are split, moved and freed
		if _, err := a.Change(t.Context(), 2, Newest, func(e *Entry) error {
			e.Place, e.Note = strings.Repeat("with "+name+" ", i*7), strings.Repeat(name, i)
			e.Parts[7].Data = append(e.Parts[7].Data, name...)
			return nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	if err := a.Record(t.Context(), Saved{2, 1}, "for "+name); err != nil {
		t.Fatal(err)
	}
	if len(filesContain(t, a.Path(), name)) == 0 {
		t.Fatal("the name is not even in the file before: this test would see nothing")
	}
	jobs, err := a.JobsOf(t.Context(), " quixotescu")
	if err != nil || !cmp.Equal(jobs, []int{2}) {
		t.Fatalf("jobs of the customer: %v, %v", jobs, err)
	}
	gone, err := a.Forget(t.Context(), jobs)
	if err != nil {
		t.Fatal(err)
	}
	if where := filesContain(t, a.Path(), name); len(where) > 0 {
		t.Errorf("the name still stands in %q", where)
	}
	if !gone.Confirmed || len(gone.Elsewhere) != 0 || gone.Words != 31 || gone.Notes != 30 || gone.Parts != 31*4 {
		t.Errorf("told %+v", gone)
	}
	if got := findJobs(t, a, Query{Words: name}); len(got) != 0 {
		t.Errorf("the name finds %v", got)
	}
	checkWhatStays(t, a)
	if diff := cmp.Diff(other, loaded(t, a, 1, 1)); diff != "" {
		t.Errorf("another customer's job changed:\n%s", diff)
	}
	mustBeSound(t, a.Path())
}

func checkWhatStays(t *testing.T, a *Archive) {
	t.Helper()
	kept := loaded(t, a, 2, 31)
	want := []Part{
		{RoleRecipe, "recipe.toml", []byte("piping = 5\n")},
		{RoleMeasurement, "measurement.json", []byte(`{"format":1,"job":"","edges":[{"name":"back"}],"size":{"width":412.345}}`)},
		{RoleShape, "shape.json", []byte(`{"fairedge_shape":1,"name":"","outline":[[1.5,2]],"provenance":""}`)},
		{RolePiece, "warnings.json", []byte(`["","back"]`)},
	}
	if diff := cmp.Diff(want, kept.Parts); diff != "" {
		t.Errorf("what stays: %s", diff)
	}
	if kept.Words != (Words{}) || *kept.Width != 412.345 || kept.SetOf != 4 {
		t.Errorf("what stays: %+v", kept)
	}
	r, err := a.Get(t.Context(), 2, Newest)
	if err != nil || !r.WordsGone || len(r.Made) != 0 {
		t.Errorf("words gone: %+v, %v", r, err)
	}
	times, err := a.Forgettings(t.Context(), 2)
	if err != nil || len(times) != 1 {
		t.Errorf("forgettings %v, %v", times, err)
	}
	if _, err := a.Change(t.Context(), 2, Newest, func(e *Entry) error { e.Chair = "oak"; return nil }); err != nil {
		t.Errorf("a forgotten job can be worked on: %v", err)
	}
}

func TestForgettingNamesWhatItDidNotTouch(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, secretEntry("Quixotescu"))
	e := someEntry()
	e.Note = "same fabric as for QUIXOTESCU"
	mustKeep(t, a, e)
	gone, err := a.Forget(t.Context(), []int{1})
	if err != nil || !cmp.Equal(gone.Elsewhere, []int{2}) || gone.Confirmed {
		t.Errorf("%+v, %v: job 2 mentions the name, so nothing can be confirmed", gone, err)
	}
}

// TestForgettingAShortName cannot look for two letters in a file of a million bytes,
// and must not say that it did.
func TestForgettingAShortName(t *testing.T) {
	a := newArchive(t)
	e := someEntry()
	e.Words = Words{Customer: "Li", Chair: "stool of Li"}
	mustKeep(t, a, e)
	gone, err := a.Forget(t.Context(), []int{1})
	if err != nil || gone.Confirmed || len(gone.LookedFor) != 0 || gone.Words != 1 {
		t.Errorf("%+v, %v", gone, err)
	}
	if r, err := a.Get(t.Context(), 1, Newest); err != nil || r.Words != (Words{}) {
		t.Errorf("%+v, %v", r.Words, err)
	}
}

// TestForgettingWhileSomebodyReads cannot empty the log, and must say so instead of
// confirming.
func TestForgettingWhileSomebodyReads(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, secretEntry("Quixotescu"))
	b, err := Open(t.Context(), a.Path(), Options{Program: "reader", ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	conn, err := b.db.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := conn.ExecContext(t.Context(), "BEGIN"); err != nil {
		t.Fatal(err)
	}
	var n int
	if err := conn.QueryRowContext(t.Context(), "SELECT count(*) FROM job").Scan(&n); err != nil {
		t.Fatal(err)
	}
	// The wait for the reader is cut short.
	for range 4 {
		if _, err := a.db.ExecContext(t.Context(), "PRAGMA busy_timeout = 50"); err != nil {
			t.Fatal(err)
		}
	}
	a.db.SetMaxOpenConns(1)
	gone, err := a.Forget(t.Context(), []int{1})
	if problem.KindOf(err) != problem.ArchiveBusy || gone.Confirmed {
		t.Fatalf("%+v, %v: want busy", gone, err)
	}
	if _, err := conn.ExecContext(t.Context(), "ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	if err := a.Purge(t.Context()); err != nil {
		t.Fatal(err)
	}
	if where := filesContain(t, a.Path(), "Quixotescu"); len(where) > 0 {
		t.Errorf("the name still stands in %q", where)
	}
}
