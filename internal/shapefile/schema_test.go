package shapefile_test

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fairedge/internal/shapefile"
)

// validate holds files against the published schema with python3-jsonschema, and returns
// what it says of each that is not valid.
func validate(t *testing.T, files map[string][]byte) map[string]string {
	t.Helper()
	dir := t.TempDir()
	schema := filepath.Join(dir, "schema.json")
	write := func(path string, data []byte) {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(schema, shapefile.Schema())
	args := []string{"-c", `
import json, sys
from jsonschema import Draft7Validator
schema = json.load(open(sys.argv[1]))
Draft7Validator.check_schema(schema)
found = {}
for name in sys.argv[2:]:
    errors = [e.message for e in Draft7Validator(schema).iter_errors(json.load(open(name)))]
    if errors:
        found[name] = "; ".join(errors)
print(json.dumps(found))`, schema}
	for name, data := range files {
		path := filepath.Join(dir, name)
		write(path, data)
		args = append(args, path)
	}
	out, err := exec.Command("/usr/bin/python3", args...).Output()
	if err != nil {
		t.Fatalf("python3 with jsonschema is needed (make test installs it): %v", err)
	}
	var byPath map[string]string
	if err := json.Unmarshal(out, &byPath); err != nil {
		t.Fatal(err)
	}
	found := map[string]string{}
	for path, errors := range byPath {
		found[filepath.Base(path)] = errors
	}
	return found
}

func TestWhatIsWrittenKeepsToTheSchema(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	files := map[string][]byte{}
	add := func(name string, d shapefile.Document) {
		data, err := shapefile.EncodeDocument(d)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = data
	}
	for i := range 10 {
		add("random-"+string(rune('a'+i)), shapefile.Document{Shape: randomSeat(t, rng), Name: "x", Uncertainty: 0.3})
	}
	oval, err := shapefile.Oval(400, 350)
	if err != nil {
		t.Fatal(err)
	}
	add("oval", shapefile.Document{Shape: oval})
	if found := validate(t, files); len(found) > 0 {
		t.Errorf("the schema refuses what was written: %v", found)
	}
}

// spoiled returns a sound file with something in it changed, by what is wrong then.
func spoiled(t *testing.T) map[string][]byte {
	t.Helper()
	s, err := shapefile.Rectangle(400, 300, shapefile.Corners{})
	if err != nil {
		t.Fatal(err)
	}
	data, err := shapefile.EncodeDocument(shapefile.Document{Shape: s, Date: day(2026, 1, 31), Uncertainty: 0.4})
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for name, change := range map[string][2]string{
		"version":       {`"fairedge_shape": 1`, `"fairedge_shape": 0`},
		"unit":          {`"unit": "mm"`, `"unit": "in"`},
		"date":          {`2026-01-31`, `31 January`},
		"within":        {`"within": 0.4`, `"within": -1`},
		"no outline":    {`"outline": [`, `"outlines": [`},
		"kind of piece": {`"type": "line"`, `"type": "arc"`},
		"three numbers": {`[200,`, `[200,0,`},
		"one point":     {`{"type": "line","points": [[200,0],[-200,0]]}`, `{"type": "line","points": [[200,0]]}`},
		"edge name":     {`"name": "front"`, `"name": "side"`},
		"first piece":   {`"first_piece": 1`, `"first_piece": -1`},
		"words":         {`"pieces": 1`, `"pieces": "one"`},
		"found by":      {`"found_by": "said"`, `"found_by": "luck"`},
	} {
		text := strings.Replace(string(data), change[0], change[1], 1)
		if text == string(data) {
			t.Fatalf("%s: %q is not in the file:\n%s", name, change[0], data)
		}
		files[name] = []byte(text)
	}
	return files
}

func TestSchemaRefusesWhatIsWrong(t *testing.T) {
	files := spoiled(t)
	found := validate(t, files)
	for name := range files {
		if found[name] == "" {
			t.Errorf("the schema takes a file with a wrong %s", name)
		}
	}
}
