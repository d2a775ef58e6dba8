package archive

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

const exportDay = "2026-01-31"

func exported(t testing.TB, a *Archive, jobs ...int) []byte {
	t.Helper()
	var out bytes.Buffer
	if _, err := a.Export(context.Background(), &out, jobs, exportDay, nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func imported(t testing.TB, a *Archive, file []byte) Imported {
	t.Helper()
	done, err := a.Import(context.Background(), ImportFile{Name: "jobs.json", From: bytes.NewReader(file), Size: int64(len(file))}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return done
}

// livelyArchive has every kind of row: revisions of all reasons, saved crosswise, records,
// signatures, a document of two jobs, a forgotten job that was kept again.
func livelyArchive(t testing.TB) *Archive {
	t.Helper()
	a := newArchive(t)
	ctx := context.Background()
	must := func(_ any, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	shape := Part{RoleShape, "shape.json", []byte(`{"shape": "<&>\u2028", "lines": "\r\n"}`)}
	first := someEntry()
	first.Parts[2].Data = first.Parts[2].Data[:50] // of the photo: quicker to read a hundred times
	first.Parts = append(first.Parts, shape, Part{RolePiece, "empty", nil})
	mustKeep(t, a, first)
	second := someEntry() // without it
	second.Customer, second.Parts = "田中 \"椅子\"\n店", []Part{shape, {RoleRecipe, "recipe.toml", []byte("bell \a")}}
	mustKeep(t, a, second)
	must(nil, a.SetSignature(ctx, Saved{1, 1}, "test 1", []byte{1, 2, 3}))
	must(a.Note(ctx, 1, "縁取りは緑"))
	must(a.Change(ctx, 2, Newest, func(e *Entry) error { e.Chair = "ash"; return nil }))
	must(a.Restore(ctx, 1, 1))
	must(nil, a.Record(ctx, Saved{1, 2}, "7 files written again"))
	third := secretEntry("Hazel Bower")
	mustKeep(t, a, third)
	must(a.Forget(ctx, []int{3}))
	must(a.Change(ctx, 3, Newest, func(e *Entry) error { e.Title = "again"; return nil }))
	return a
}

func TestExportImportExportIsTheSameFile(t *testing.T) {
	a := livelyArchive(t)
	file := exported(t, a)
	for _, want := range []string{`"text":"<svg>Alder chair</svg>"`, `"base64":"/9gAAQL/`, `"restored_from":1`, `"forgotten": [`, `"scheme":"test 1","base64":"AQID"`, `7 files written again`, `縁取りは緑`} {
		if !strings.Contains(string(file), want) {
			t.Errorf("%s is not in the file", want)
		}
	}
	b := newArchive(t)
	done := imported(t, b, file)
	if done.Renumbered() || len(done.Jobs) != 3 {
		t.Errorf("taken in as %v", done)
	}
	if diff := cmp.Diff(string(file), string(exported(t, b))); diff != "" {
		t.Error(diff)
	}
	mustBeSound(t, b.Path())
	if got := findJobs(t, b, Query{Words: "椅子"}); !cmp.Equal(got, []int{2}) {
		t.Errorf("found %v", got)
	}
	if saved := mustKeep(t, b, someEntry()); saved.Job != 4 {
		t.Errorf("the next job is %d, want 4", saved.Job)
	}
}

// TestEveryOlderVersionIsExported reads the archives of the versions before.
func TestEveryOlderVersionIsExported(t *testing.T) {
	files, err := filepath.Glob("testdata/v*.fairedge")
	if err != nil || len(files) == 0 {
		t.Fatalf("%v, %v", files, err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), FileName)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		a, err := Open(t.Context(), path, options())
		if err != nil {
			t.Fatal(err)
		}
		b := newArchive(t)
		file := exported(t, a)
		imported(t, b, file)
		if !bytes.Equal(file, exported(t, b)) {
			t.Errorf("%s comes back otherwise", f)
		}
		checkVersionContents(t, b.Path())
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	}
}

// lawful holds one archive against the laws of export and import.
func lawful(t *testing.T, rt *rapid.T, a *Archive) {
	file := exported(t, a)
	fresh := newArchive(t)
	imported(t, fresh, file)
	if again := exported(t, fresh); !bytes.Equal(file, again) {
		rt.Fatal(cmp.Diff(string(file), string(again)))
	}
	// Beside other jobs: other numbers, else the same, and the others as they were.
	shop := newArchive(t)
	for i := range rapid.IntRange(1, 3).Draw(rt, "others") {
		mustKeep(t, shop, numbered(i))
	}
	before := exported(t, shop)
	others := len(jobsIn(t, before))
	done := imported(t, shop, file)
	var here, original []int
	for i, taken := range done.Jobs {
		if taken.Here != others+i+1 {
			rt.Fatalf("job %d became %d beside %d", taken.There, taken.Here, others)
		}
		here, original = append(here, taken.Here), append(original, i)
	}
	if len(here) > 0 {
		got := jobsIn(t, exported(t, shop, here...))
		want := jobsIn(t, file)
		for i := range original {
			got[i].Number = want[i].Number
		}
		if diff := cmp.Diff(want, got); diff != "" {
			rt.Fatal(diff)
		}
	}
	first := make([]int, others)
	for i := range first {
		first[i] = i + 1
	}
	if !bytes.Equal(before, exported(t, shop, first...)) {
		rt.Fatal("the jobs that were there have changed")
	}
	if h, err := Check(t.Context(), shop.Path(), nil); err != nil || !h.Sound() {
		rt.Fatal(h, err)
	}
}

type jobInFile struct {
	Number    int             `json:"number"`
	Forgotten []forgottenForm `json:"forgotten"`
	Revisions []revisionForm  `json:"revisions"`
}

func jobsIn(t testing.TB, file []byte) []jobInFile {
	t.Helper()
	var document struct {
		Jobs []jobInFile `json:"jobs"`
	}
	if err := json.Unmarshal(file, &document); err != nil {
		t.Fatal(err)
	}
	return document.Jobs
}

func TestRandomJobsComeBack(t *testing.T) {
	entries, words := anyEntry(), anyText()
	draw := func(rt *rapid.T) Entry {
		for {
			if e := entries.Draw(rt, "entry"); e.MadeOn.Year() <= 9999 {
				return e
			}
		}
	}
	checks := 0
	rapid.Check(t, func(rt *rapid.T) {
		if checks++; checks > 12 && os.Getenv("FAIREDGE_SLOW") == "" {
			return // each makes three archives
		}
		a, ctx := newArchive(t), t.Context()
		jobs := rapid.IntRange(0, 3).Draw(rt, "jobs")
		for range jobs {
			mustKeep(t, a, draw(rt))
		}
		for range rapid.IntRange(0, 2*jobs).Draw(rt, "steps") {
			job := rapid.IntRange(1, jobs).Draw(rt, "job")
			var err error
			switch rapid.IntRange(0, 4).Draw(rt, "step") {
			case 0:
				other := draw(rt)
				_, err = a.Change(ctx, job, Newest, func(e *Entry) error { *e = other; return nil })
			case 1:
				_, err = a.Note(ctx, job, "-"+words.Draw(rt, "note"))
			case 2:
				if _, err = a.Restore(ctx, job, 1); problem.KindOf(err) == problem.Usage {
					err = nil // the newest already
				}
			case 3:
				err = a.Record(ctx, Saved{job, 1}, words.Draw(rt, "what"))
			case 4:
				_, err = a.Forget(ctx, []int{job})
			}
			if err != nil {
				rt.Fatal(err)
			}
		}
		lawful(t, rt, a)
	})
}

func TestSomeJobsAlone(t *testing.T) {
	a := livelyArchive(t)
	file := exported(t, a, 2, 2)
	if strings.Contains(string(file), "Nørgaard") {
		t.Error("another customer's name is in the file")
	}
	b := newArchive(t)
	if done := imported(t, b, file); done.Renumbered() || done.Revisions != 2 || done.Contents != 2 {
		t.Errorf("%+v", done)
	}
	if !bytes.Equal(file, exported(t, b)) {
		t.Error("one job comes back otherwise")
	}
	// Beside its own documents: they are stored once.
	if done := imported(t, a, file); done.Contents != 0 || done.Jobs[0] != (Taken{2, 4}) {
		t.Errorf("%+v", done)
	}
	mustBeSound(t, a.Path())
	var out bytes.Buffer
	if _, err := a.Export(t.Context(), &out, []int{2, 9}, exportDay, nil); problem.KindOf(err) != problem.NotKept || out.Len() > 0 {
		t.Errorf("a job that is not there: %v", err)
	}
}

// TestExportKnowsEveryColumn fails when the archive has learnt something that the
// exported file does not say: add it to the form, then here.
func TestExportKnowsEveryColumn(t *testing.T) {
	a := newArchive(t)
	rows, err := a.db.Query(`SELECT m.name || ': ' || group_concat(c.name, ' ') FROM sqlite_schema m JOIN pragma_table_info(m.name) c
		WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%' AND m.name NOT LIKE 'search%' AND m.name <> 'unlocked' GROUP BY m.name ORDER BY m.name`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var got []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			t.Fatal(err)
		}
		got = append(got, line)
	}
	want := []string{
		"content: id sha256 length bytes",
		"forgotten: id job saved_at parts",
		"job: number",
		"made: id revision saved_at program what",
		"note: revision text",
		"part: id revision role name content",
		"revision: id job number origin reason saved_at program made_on set_of which width_mm depth_mm perimeter_mm area_mm2 within_mm",
		"signature: content scheme bytes",
		"words: revision title customer contact place chair",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// TestDamageIsNotExported spoils a document and then loses a revision.
func TestDamageIsNotExported(t *testing.T) {
	a := livelyArchive(t)
	spoil := func(statement string) {
		if _, err := a.db.Exec(statement); err != nil {
			t.Fatal(err)
		}
	}
	refuse := func(what string) {
		t.Helper()
		_, err := a.Export(t.Context(), new(bytes.Buffer), nil, exportDay, nil)
		if problem.KindOf(err) != problem.ArchiveDamaged || !strings.Contains(err.Error(), what) {
			t.Errorf("got %v, want something about %s", err, what)
		}
	}
	spoil("DROP TRIGGER content_fixed")
	spoil("UPDATE content SET bytes = 'x' WHERE id = 1")
	refuse("measurement.json of job 1:1")
	b := livelyArchive(t)
	a = b
	spoil("PRAGMA foreign_keys = 0")
	spoil("DROP TRIGGER revision_fixed")
	spoil("UPDATE revision SET number = 9 WHERE job = 2 AND number = 2")
	refuse("job 2 is not whole")
}

// schemaFaults holds files against the schema with python3-jsonschema, an independent
// reader, and returns what it says of each that is not valid.
func schemaFaults(t *testing.T, files map[string][]byte) map[string]string {
	t.Helper()
	dir := t.TempDir()
	args := []string{"-c", `
import json, os, sys
from jsonschema import Draft7Validator
schema = json.load(open(sys.argv[1]))
Draft7Validator.check_schema(schema)
print(json.dumps({os.path.basename(n): "; ".join(e.message[:200] for e in Draft7Validator(schema).iter_errors(json.load(open(n)))) for n in sys.argv[2:]}))`}
	write := func(name string, data []byte) {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	write("schema.json", ExportSchema())
	for name, data := range files {
		write(name, data)
	}
	out, err := exec.Command("/usr/bin/python3", args...).Output()
	if err != nil {
		var failed *exec.ExitError
		if errors.As(err, &failed) {
			t.Log(string(failed.Stderr))
		}
		t.Fatalf("python3 with jsonschema is needed (make test installs it): %v", err)
	}
	var found map[string]string
	if err := json.Unmarshal(out, &found); err != nil || len(found) != len(files) {
		t.Fatalf("%s: %v", out, err)
	}
	return found
}

func TestExportKeepsToItsSchema(t *testing.T) {
	a := livelyArchive(t)
	files := map[string][]byte{"all": exported(t, a), "two": exported(t, a, 2), "none": exported(t, newArchive(t))}
	for name, faults := range schemaFaults(t, files) {
		if faults != "" {
			t.Errorf("%s: %s", name, faults)
		}
	}
}

// saving saves a job at the first byte that is written.
type saving struct {
	bytes.Buffer
	save func()
}

func (s *saving) Write(p []byte) (int, error) {
	if s.Len() == 0 {
		s.save()
	}
	return s.Buffer.Write(p)
}

// TestExportIsOneState exports through a reader while somebody else saves.
func TestExportIsOneState(t *testing.T) {
	a := livelyArchive(t)
	before := exported(t, a)
	only := options()
	only.ReadOnly = true
	reader, err := Open(t.Context(), a.Path(), only)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	out := saving{save: func() { mustKeep(t, a, someEntry()) }}
	if _, err := reader.Export(t.Context(), &out, nil, exportDay, nil); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(before), out.String()); diff != "" {
		t.Error(diff)
	}
	if bytes.Equal(before, exported(t, a)) {
		t.Error("nothing was saved meanwhile")
	}
	if _, err := reader.Import(t.Context(), ImportFile{Name: "x", From: bytes.NewReader(before)}, nil); problem.KindOf(err) != problem.FileAccess {
		t.Errorf("import into an archive opened for reading: %v", err)
	}
}
