package archive

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"
	"testing/iotest"

	"fairedge/internal/problem"
)

// spoilt are files with one thing wrong: what is replaced by what, the kind of the
// refusal, a word of its sentence, and whether the schema sees it too.
var spoilt = []struct {
	name, old, new string
	kind           problem.Kind
	says           string
	schema         bool
}{
	{"newer", `"fairedge_archive": 1`, `"fairedge_archive": 2`, problem.ArchiveNewer, "newer version", true},
	{"format nought", `"fairedge_archive": 1`, `"fairedge_archive": 0`, problem.NotAnArchive, "format 0", true},
	{"no format", `"fairedge_archive": 1`, `"fairedge_file": 1`, problem.NotAnArchive, "no exported archive", true},
	{"changed text", `<svg>Alder`, `<svg>Elder`, problem.ArchiveDamaged, "damaged", false},
	{"changed bytes", `"base64":"/9gA`, `"base64":"/9gB`, problem.ArchiveDamaged, "damaged", false},
	{"no base64", `"base64":"/9gA`, `"base64":"!9gA`, problem.NotAnArchive, "something in it was changed", true},
	{"no bytes", `"text":"<svg>`, `"texts":"<svg>`, problem.NotAnArchive, "makes no sense", true},
	{"both", `"text":"<svg>`, `"base64":"AAAA","text":"<svg>`, problem.NotAnArchive, "makes no sense", true},
	{"number", `"number": 2`, `"number": 1`, problem.NotAnArchive, "order of their numbers", false},
	{"forgotten at no time", `"forgotten": [{"at":"2026`, `"forgotten": [{"at":"26`, problem.NotAnArchive, "no time", true},
	{"huge number", `"number": 3`, `"number": 9000000000000000000`, problem.NotAnArchive, "order of their numbers", true},
	{"words for numbers", `"number": 2`, `"number": "two"`, problem.NotAnArchive, "something in it was changed", true},
	{"no revision", `"revisions": [`, `"revision": [`, problem.NotAnArchive, "no revision", true},
	{"revision twice", `"revision":2,"order":3`, `"revision":1,"order":3`, problem.NotAnArchive, "not 1, 2, 3", false},
	{"order twice", `"revision":2,"order":4`, `"revision":2,"order":3`, problem.NotAnArchive, "order 3", false},
	{"order gap", `"order":7`, `"order":8`, problem.NotAnArchive, "gaps", false},
	{"order huge", `"order":7`, `"order":9223372036854775807`, problem.NotAnArchive, "does not rise", false},
	{"reason", `"reason":"noted"`, `"reason":"found"`, problem.NotAnArchive, "reason is not known", true},
	{"restored", `"restored_from":1`, `"restored_from":3`, problem.NotAnArchive, "reason does not fit", false},
	{"time", `"saved_at":"2026-01-31T`, `"saved_at":"2026-01-32T`, problem.NotAnArchive, "no time", false},
	{"time in words", `"saved_at":"2026-01-31T09:30:00.000Z"`, `"saved_at":"yesterday"`, problem.NotAnArchive, "no time", true},
	{"day", `"made_on":"2026-01-30"`, `"made_on":"2026-02-30"`, problem.NotAnArchive, "no day", false},
	{"set", `"set_of":4,"which":2`, `"set_of":4,"which":5`, problem.NotAnArchive, "set of 4", false},
	{"size", `"width_mm":412.345`, `"width_mm":-1`, problem.NotAnArchive, "size", true},
	{"infinite size", `"width_mm":412.345`, `"width_mm":1e999`, problem.NotAnArchive, "something in it was changed", true},
	{"role", `"role":"recipe"`, `"role":"cake"`, problem.NotAnArchive, "kind of part", true},
	{"way out", `"name":"recipe.toml"`, `"name":"../recipe.toml"`, problem.NotAnArchive, "cannot name a file", false},
	{"same name", `"role":"piece","name":"empty"`, `"role":"shape","name":"shape.json"`, problem.NotAnArchive, "twice", false},
	{"bell", `"chair":"ash"`, `"chair":"a\u0007sh"`, problem.NotAnArchive, "control character", false},
	{"no text", `"chair":"ash"`, "\"chair\":\"a\xffsh\"", problem.NotAnArchive, "UTF-8", false},
	{"lost words", `"words":{"title":"Alder chair"`, `"word":{"title":"Alder chair"`, problem.NotAnArchive, "words are missing", false},
	{"twice", `"contents": [`, `"contents": [], "contents": [`, problem.NotAnArchive, "twice", false},
	{"contents last", `"contents": [`, `"jobs": [], "contents": [`, problem.NotAnArchive, "behind", false},
	{"more", "]\n}\n", "]\n}\n{}", problem.NotAnArchive, "something in it was changed", false},
	{"made", `7 files written again`, `7 files\u0000`, problem.NotAnArchive, "control character", false},
}

func refusal(t *testing.T, a *Archive, file io.Reader) error {
	t.Helper()
	before := exported(t, a)
	_, err := a.Import(t.Context(), ImportFile{Name: "jobs.json", From: file}, nil)
	if err == nil {
		t.Error("it was imported")
	}
	if !bytes.Equal(before, exported(t, a)) {
		t.Error("a refused file has changed the archive")
	}
	mustBeSound(t, a.Path())
	return err
}

func TestBadFilesAreRefusedWhole(t *testing.T) {
	sound := exported(t, livelyArchive(t))
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	files := map[string][]byte{}
	for _, c := range spoilt {
		file := bytes.Replace(sound, []byte(c.old), []byte(c.new), 1)
		if bytes.Equal(file, sound) {
			t.Fatalf("%s: %s is not in the file", c.name, c.old)
		}
		err := refusal(t, a, bytes.NewReader(file))
		if problem.KindOf(err) != c.kind || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", c.name, err)
		}
		if c.schema {
			files[c.name] = file
		}
	}
	for name, faults := range schemaFaults(t, files) {
		if faults == "" {
			t.Errorf("the schema takes a file with %s", name)
		}
	}
	for cut := 0; cut < len(sound)-2; cut += len(sound)/25 + 1 {
		if err := refusal(t, a, bytes.NewReader(sound[:cut])); problem.KindOf(err) != problem.NotAnArchive || !strings.Contains(err.Error(), "too early") {
			t.Errorf("cut at %d: %v", cut, err)
		}
	}
	for _, text := range []string{"letter", "[]", "{}", "null", `{"fairedge_shape": 1, "outline": []}`, "\x00\xff"} {
		if err := refusal(t, a, strings.NewReader(text)); problem.KindOf(err) != problem.NotAnArchive {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// TestDocumentsHangInNoAir takes a document or its only part away.
func TestDocumentsHangInNoAir(t *testing.T) {
	a := newArchive(t)
	e := someEntry()
	e.Parts = e.Parts[:1]
	mustKeep(t, a, e)
	file := string(exported(t, a))
	contents := file[strings.Index(file, `"contents": [`)+13 : strings.Index(file, "\n],\n\"jobs\"")]
	part := file[strings.Index(file, `,"parts":`):strings.Index(file, "}\n]}")]
	for what, spoilt := range map[string]string{
		"is not in it":             strings.Replace(file, contents, "", 1),
		"no job refers to":         strings.Replace(file, part, "", 1),
		"there twice":              strings.Replace(file, contents, contents+","+contents, 1),
		"has \"number\" twice":     strings.Replace(file, `"number": 1,`, `"number": 1, "number": 1,`, 1),
		"order of their numbers":   strings.Replace(file, `"number": 1,`, ``, 1),
		"stands behind its revisi": strings.Replace(file, "}\n]}", "}\n], \"forgotten\": []}", 1),
	} {
		if err := refusal(t, a, strings.NewReader(spoilt)); problem.KindOf(err) != problem.NotAnArchive || !strings.Contains(err.Error(), what) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestAnotherProgramRewritesIt has Python hold every document against its SHA-256 and
// write the file in its own way: members sorted, other letters escaped, other lines.
func TestAnotherProgramRewritesIt(t *testing.T) {
	file := exported(t, livelyArchive(t))
	python := exec.Command("/usr/bin/python3", "-c", `
import base64, hashlib, json, sys
d = json.loads(sys.stdin.buffer.read().decode("utf-8"))
for c in d["contents"]:
    data = c["text"].encode("utf-8") if "text" in c else base64.b64decode(c["base64"], validate=True)
    assert hashlib.sha256(data).hexdigest() == c["sha256"], c
assert len(d["contents"]) == len({c["sha256"] for c in d["contents"]}) > 3
json.dump(d, sys.stdout, sort_keys=True, indent=4)`)
	python.Stdin = bytes.NewReader(file)
	rewritten, err := python.Output()
	if err != nil {
		t.Fatalf("python3 is needed (make test installs it): %v", err)
	}
	a := newArchive(t)
	imported(t, a, rewritten)
	if !bytes.Equal(file, exported(t, a)) {
		t.Error("it comes back otherwise")
	}
}

// TestUnknownMembersArePassedOver: a later program of the same form may say more.
func TestUnknownMembersArePassedOver(t *testing.T) {
	file := exported(t, livelyArchive(t))
	more := strings.NewReplacer(`"contents": [`, `"shop": {"name": [1, "x"]}, "contents": [`, `"number": 2`, `"colour": null, "number": 2`,
		`"sha256":`, `"weight": 3, "sha256":`).Replace(string(file))
	a := newArchive(t)
	imported(t, a, []byte(more))
	if !bytes.Equal(file, exported(t, a)) {
		t.Error("what is known comes back otherwise")
	}
}

func TestUnsoundSignaturesAreLeftOut(t *testing.T) {
	file := exported(t, livelyArchive(t))
	a := newArchive(t)
	_, err := a.Import(t.Context(), ImportFile{Name: "x", From: bytes.NewReader(file),
		Sound: func(scheme string, b []byte) bool { return scheme != "test 1" || len(b) != 3 }}, nil)
	if err != nil || bytes.Contains(exported(t, a), []byte("signature")) {
		t.Errorf("the signature was taken: %v", err)
	}
}

func TestImportStopped(t *testing.T) {
	file := exported(t, livelyArchive(t))
	a := newArchive(t)
	// The disk fails, and the person stops it, in the middle.
	failing := io.MultiReader(bytes.NewReader(file[:len(file)/2]), iotest.ErrReader(os.ErrDeadlineExceeded))
	if err := refusal(t, a, failing); problem.KindOf(err) != problem.FileAccess {
		t.Errorf("failing disk: %v", err)
	}
	ctx, stop := context.WithCancel(t.Context())
	var said int64
	_, err := a.Import(ctx, ImportFile{Name: "x", From: iotest.OneByteReader(bytes.NewReader(file)), Size: int64(len(file))}, func(done, total int64) {
		if said = done; done > total/2 {
			stop()
		}
	})
	if problem.KindOf(err) != problem.Cancelled || said == 0 {
		t.Errorf("stopped: %v", err)
	}
	if jobs, revisions, err := a.Count(t.Context()); jobs+revisions != 0 || err != nil {
		t.Errorf("%d jobs, %v", jobs, err)
	}
	imported(t, a, file) // and then it goes
}

// TestLongValuesAreNotRead feeds a value without end.
func TestLongValuesAreNotRead(t *testing.T) {
	for _, begin := range []string{`{"`, `{"fairedge_archive": `, `{"fairedge_archive": 1, `, ``} {
		endless := &counting{r: io.MultiReader(strings.NewReader(begin), spaces{})}
		a := newArchive(t)
		if err := refusal(t, a, endless); problem.KindOf(err) != problem.NotAnArchive || endless.n > 4*allowToken {
			t.Errorf("%s: %d bytes read: %v", begin, endless.n, err)
		}
	}
}

type spaces struct{}

func (spaces) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

type counting struct {
	r io.Reader
	n int64
}

func (c *counting) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}

// FuzzImport: whatever the file holds, it is refused with a sentence or taken in, and what
// was taken in comes out and goes in again. One archive serves all: its transactions are
// never brought to an end, which keeps the disk out of it.
func FuzzImport(f *testing.F) {
	sound := exported(f, livelyArchive(f))
	f.Add(sound)
	for _, c := range spoilt {
		f.Add(bytes.Replace(sound, []byte(c.old), []byte(c.new), 1))
	}
	a := newArchive(f)
	f.Fuzz(func(t *testing.T, file []byte) {
		out, err := thereAndBack(a, file)
		if err != nil {
			if problem.KindOf(err) == problem.Internal {
				t.Fatal(err)
			}
			return
		}
		again, err := thereAndBack(a, out)
		if err != nil {
			t.Fatalf("what was written is refused: %v", err)
		}
		if !bytes.Equal(out, again) {
			t.Errorf("it comes back otherwise:\n%s\n%s", out, again)
		}
	})
}

// thereAndBack imports a file and exports what came of it, and then takes it back.
func thereAndBack(a *Archive, file []byte) ([]byte, error) {
	ctx := context.Background()
	tx, err := a.db.BeginTx(ctx, nil)
	if err != nil {
		return nil, err
	}
	defer tx.Rollback()
	in := importer{archive: a, tx: tx, file: ImportFile{Name: "x"}, contents: map[[32]byte]*importedContent{}}
	in.feed = newFeed(ctx, bytes.NewReader(file), func(int64) {})
	if err := in.explain(in.all(ctx)); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	x := exporter{archive: a, tx: tx, out: &out}
	if x.jobs, err = jobsToExport(ctx, tx, nil); err != nil {
		return nil, err
	}
	err = x.write(ctx, exportDay)
	return out.Bytes(), err
}
