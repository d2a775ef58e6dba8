package archive

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

func number(x float64) *float64 { return &x }

// someDay is the clock of the tests.
func someDay() time.Time { return time.Date(2026, 1, 31, 9, 30, 0, 0, time.UTC) }

func options() Options { return Options{Program: "fairedge test", Now: someDay} }

func newArchive(t testing.TB) *Archive {
	t.Helper()
	a, err := OpenOrCreate(t.Context(), filepath.Join(t.TempDir(), "shop", FileName), options())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = a.Close() })
	return a
}

func someEntry() Entry {
	return Entry{
		Words: Words{Title: "Alder chair", Customer: "Zoë Nørgaard", Contact: "zoe@example.org", Place: "dining room", Chair: "ladder-back, oak"},
		SetOf: 4, Which: 2,
		MadeOn: time.Date(2026, 1, 30, 0, 0, 0, 0, time.UTC),
		Sizes:  Sizes{Width: number(412.345), Depth: number(398.1), Perimeter: number(1480.25), Area: number(150123.5), Within: number(0.62)},
		Parts: []Part{
			{RoleMeasurement, "measurement.json", []byte(`{"format": 1, "job": "Alder chair"}`)},
			{RoleDrawing, "foam-outline.svg", []byte("<svg>Alder chair</svg>")},
			{RolePhoto, "photo.jpg", bytes.Repeat([]byte{0xff, 0xd8, 0, 1, 2}, 5000)},
		},
		Note: "zip at the back",
	}
}

func mustKeep(t testing.TB, a *Archive, e Entry) Saved {
	t.Helper()
	saved, err := a.Keep(t.Context(), e)
	if err != nil {
		t.Fatal(err)
	}
	return saved
}

// loaded reads a revision back as an Entry.
func loaded(t testing.TB, a *Archive, job, revision int) Entry {
	t.Helper()
	r, err := a.Get(t.Context(), job, revision)
	if err != nil {
		t.Fatal(err)
	}
	e := r.entry()
	for _, p := range r.Parts {
		data, err := a.Data(t.Context(), p)
		if err != nil {
			t.Fatal(err)
		}
		e.Parts = append(e.Parts, Part{p.Role, p.Name, data})
	}
	return e
}

func mustBeSound(t testing.TB, path string) Health {
	t.Helper()
	h, err := Check(context.Background(), path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !h.Sound() {
		t.Fatalf("faults: %q", h.Faults)
	}
	return h
}

func TestKeptJobIsReadBackAsItWas(t *testing.T) {
	a := newArchive(t)
	want := someEntry()
	saved := mustKeep(t, a, want)
	if saved != (Saved{1, 1}) {
		t.Errorf("saved as %v, want job 1, revision 1", saved)
	}
	if diff := cmp.Diff(want, loaded(t, a, 1, Newest)); diff != "" {
		t.Error(diff)
	}
	r, err := a.Get(t.Context(), 1, 1)
	if err != nil {
		t.Fatal(err)
	}
	if r.Reason != Kept || r.Program != "fairedge test" || r.SavedAt != "2026-01-31T09:30:00.000Z" {
		t.Errorf("kept as %+v", r)
	}
	mustBeSound(t, a.Path())
}

func TestChangeNoteAndRestoreMakeRevisions(t *testing.T) {
	a := newArchive(t)
	first := someEntry()
	mustKeep(t, a, first)
	ctx := t.Context()
	if _, err := a.Change(ctx, 1, 1, func(e *Entry) error { e.Chair, e.Width = "ladder-back, ash", number(415); return nil }); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Note(ctx, 1, "ties 30 cm"); err != nil {
		t.Fatal(err)
	}
	if saved, err := a.Restore(ctx, 1, 1); err != nil || saved != (Saved{1, 4}) {
		t.Fatalf("restored as %v, %v", saved, err)
	}
	history, err := a.History(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, r := range history {
		told = append(told, fmt.Sprintf("%d %s %q %q %g %d", r.Saved.Revision, r.Reason, r.Chair, r.Note, *r.Width, r.RestoredOf))
	}
	if diff := cmp.Diff([]string{
		`1 kept "ladder-back, oak" "zip at the back" 412.345 0`,
		`2 changed "ladder-back, ash" "" 415 0`,
		`3 noted "ladder-back, ash" "ties 30 cm" 415 0`,
		`4 restored "ladder-back, oak" "" 412.345 1`,
	}, told); diff != "" {
		t.Error(diff)
	}
	first.Note = ""
	if diff := cmp.Diff(first, loaded(t, a, 1, 4)); diff != "" {
		t.Errorf("the restored state differs from the first:\n%s", diff)
	}
	mustBeSound(t, a.Path())
}

// TestNothingIsOverwritten goes past this package and uses SQL as another program
// would: the file itself refuses.
func TestNothingIsOverwritten(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	if err := a.Record(t.Context(), Saved{1, 1}, "7 files"); err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{
		"UPDATE job SET number = 9", "DELETE FROM job",
		"UPDATE revision SET width_mm = 1", "DELETE FROM revision",
		"UPDATE words SET customer = 'x'", "DELETE FROM words",
		"UPDATE note SET text = 'x'", "DELETE FROM note",
		"UPDATE part SET name = 'x'", "DELETE FROM part",
		"UPDATE content SET bytes = x'00'", "DELETE FROM content",
		"UPDATE made SET what = 'x'", "DELETE FROM made",
	} {
		if _, err := a.db.ExecContext(t.Context(), statement); err == nil || !strings.Contains(err.Error(), "never") && !strings.Contains(err.Error(), "only") {
			t.Errorf("%s: %v, want a refusal", statement, err)
		}
	}
	if diff := cmp.Diff(someEntry(), loaded(t, a, 1, 1)); diff != "" {
		t.Error(diff)
	}
}

func TestContentsAreStoredOnce(t *testing.T) {
	a := newArchive(t)
	for range 5 {
		mustKeep(t, a, someEntry())
	}
	if h := mustBeSound(t, a.Path()); h.Contents != 3 || h.Jobs != 5 {
		t.Errorf("%d contents for %d jobs of the same 3 parts", h.Contents, h.Jobs)
	}
}

func TestSomebodyElseWasFaster(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	rename := func(e *Entry) error { e.Place = "hall"; return nil }
	if _, err := a.Change(t.Context(), 1, 1, rename); err != nil {
		t.Fatal(err)
	}
	_, err := a.Change(t.Context(), 1, 1, rename)
	if problem.KindOf(err) != problem.ArchiveBusy {
		t.Errorf("a change to an outdated revision gives %v", err)
	}
	if _, err := a.Get(t.Context(), 1, 3); problem.KindOf(err) != problem.NotKept {
		t.Errorf("revision 3: %v, want none", err)
	}
}

func TestAnOrderIsNoClock(t *testing.T) {
	a := newArchive(t)
	times := []time.Time{someDay(), someDay().AddDate(-30, 0, 0), someDay().AddDate(50, 0, 0)}
	at := 0
	a.options.Now = func() time.Time { at++; return times[at-1] }
	mustKeep(t, a, someEntry())
	for i := range 2 {
		if _, err := a.Note(t.Context(), 1, fmt.Sprint(i)); err != nil {
			t.Fatal(err)
		}
	}
	history, err := a.History(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []bool{false, true, false} {
		if history[i].Saved.Revision != i+1 || history[i].ClockSetBack != want {
			t.Errorf("revision %d: clock set back %v, want %v", history[i].Saved.Revision, history[i].ClockSetBack, want)
		}
	}
	newest, err := a.Get(t.Context(), 1, Newest)
	if err != nil || newest.Note != "1" {
		t.Errorf("the newest is %q (%v), want the one saved last", newest.Note, err)
	}
}

func TestWhatCannotBeKept(t *testing.T) {
	a := newArchive(t)
	nan := 0.0
	nan /= nan
	for what, spoil := range map[string]func(*Entry){
		"not UTF-8":         func(e *Entry) { e.Customer = "\xff" },
		"control character": func(e *Entry) { e.Place = "a\x00b" },
		"too long":          func(e *Entry) { e.Note = strings.Repeat("字", longestWords+1) },
		"chair 5 of 4":      func(e *Entry) { e.Which = 5 },
		"negative set":      func(e *Entry) { e.SetOf, e.Which = -1, 0 },
		"NaN":               func(e *Entry) { e.Width = &nan },
		"negative size":     func(e *Entry) { e.Depth = number(-1) },
		"year 10000":        func(e *Entry) { e.MadeOn = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) },
		"unknown role":      func(e *Entry) { e.Parts[0].Role = "x" },
		"path as a name":    func(e *Entry) { e.Parts[0].Name = "../x" },
		"dot dot":           func(e *Entry) { e.Parts[0].Name = ".." },
		"twice":             func(e *Entry) { e.Parts[1] = e.Parts[0] },
	} {
		e := someEntry()
		spoil(&e)
		if _, err := a.Keep(t.Context(), e); problem.KindOf(err) != problem.Usage {
			t.Errorf("%s: %v, want a usage problem", what, err)
		}
	}
	if jobs, revisions, err := a.Count(t.Context()); jobs != 0 || revisions != 0 || err != nil {
		t.Errorf("%d jobs, %d revisions (%v) after refusals", jobs, revisions, err)
	}
}

func TestNoSuchThing(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	ctx := t.Context()
	_, get := a.Get(ctx, 2, Newest)
	_, revision := a.Get(ctx, 1, 2)
	_, history := a.History(ctx, 2)
	_, note := a.Note(ctx, 2, "x")
	_, restore := a.Restore(ctx, 1, 7)
	_, forget := a.Forget(ctx, []int{1, 2})
	record := a.Record(ctx, Saved{2, 1}, "x")
	for i, err := range []error{get, revision, history, note, restore, forget, record} {
		if problem.KindOf(err) != problem.NotKept {
			t.Errorf("case %d: %v, want not kept", i, err)
		}
	}
	if diff := cmp.Diff(someEntry(), loaded(t, a, 1, Newest)); diff != "" {
		t.Errorf("a forget that failed for job 2 changed job 1:\n%s", diff)
	}
}

// TestProgramsAtOnce saves from several archives opened apart, as command line and
// page would.
func TestProgramsAtOnce(t *testing.T) {
	first := newArchive(t)
	mustKeep(t, first, someEntry())
	const programs, saves = 4, 12
	var all sync.WaitGroup
	for p := range programs {
		all.Go(func() {
			a, err := Open(t.Context(), first.Path(), options())
			if err != nil {
				t.Error(err)
				return
			}
			defer a.Close()
			for i := range saves {
				if _, err := a.Note(t.Context(), 1, fmt.Sprintf("%d.%d", p, i)); err != nil {
					t.Error(err)
				}
				e := someEntry()
				e.Customer = fmt.Sprintf("customer %d.%d", p, i)
				if _, err := a.Keep(t.Context(), e); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	h := mustBeSound(t, first.Path())
	if want := 1 + programs*saves; h.Jobs != want || h.Revisions != want+programs*saves {
		t.Errorf("%d jobs and %d revisions, want %d and %d", h.Jobs, h.Revisions, want, want+programs*saves)
	}
}

// TestProgramsBeginAtOnce makes and opens one new archive from several sides.
func TestProgramsBeginAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), FileName)
	var all sync.WaitGroup
	for range 6 {
		all.Go(func() {
			a, err := OpenOrCreate(t.Context(), path, options())
			if err != nil {
				t.Error(err)
				return
			}
			defer a.Close()
			if _, err := a.Keep(t.Context(), someEntry()); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if h := mustBeSound(t, path); h.Jobs != 6 {
		t.Errorf("%d jobs, want 6", h.Jobs)
	}
	left, err := filepath.Glob(filepath.Join(filepath.Dir(path), ".fairedge-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left over: %q, %v", left, err)
	}
}

func TestOddFolderNames(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a?b #c %41 ü", "d&e=f")
	a, err := OpenOrCreate(t.Context(), filepath.Join(dir, "x;y.fairedge"), options())
	if err != nil {
		t.Fatal(err)
	}
	mustKeep(t, a, someEntry())
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "x;y.fairedge")); err != nil {
		t.Error(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 {
		t.Errorf("%v, %v: want the archive alone after closing", entries, err)
	}
}

func TestPragmasHoldOnEveryConnection(t *testing.T) {
	a := newArchive(t)
	for pragma, want := range map[string]int{
		"foreign_keys": 1, "synchronous": 2, "secure_delete": 1, "busy_timeout": 10000,
		"application_id": applicationID, "user_version": len(migrationNames()), "auto_vacuum": 2, "page_size": pageSize,
	} {
		// Connections held at the same time are different ones.
		for range 3 {
			conn, err := a.db.Conn(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			var got int
			if err := conn.QueryRowContext(t.Context(), "PRAGMA "+pragma).Scan(&got); err != nil || got != want {
				t.Errorf("%s is %d (%v), want %d", pragma, got, err, want)
			}
			conn.Close()
		}
	}
	var mode string
	if err := a.db.QueryRowContext(t.Context(), "PRAGMA journal_mode").Scan(&mode); err != nil || mode != "wal" {
		t.Errorf("journal mode %q (%v), want wal", mode, err)
	}
}

func TestStoppedSaveLeavesNothing(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	ctx, cancel := context.WithCancel(t.Context())
	_, err := a.Change(ctx, 1, Newest, func(e *Entry) error { cancel(); e.Place = "never"; return nil })
	if problem.KindOf(err) != problem.Cancelled || !errors.Is(err, context.Canceled) {
		t.Errorf("a stopped save gives %v", err)
	}
	if _, err := a.Get(t.Context(), 1, 2); problem.KindOf(err) != problem.NotKept {
		t.Errorf("revision 2: %v, want none", err)
	}
	mustKeep(t, a, someEntry())
}
