// Package recordfile keeps records of one kind in one small JSON file of the data
// folder, to which records are only ever added:
//
//	{"format": 1, "prints": [ ... ]}
package recordfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"fairedge/internal/problem"
	"fairedge/internal/safefile"
)

// format is the version of the files. A reader refuses a higher one and reads every
// lower one.
const format = 1

// Kind says what a file holds. R is the record as stored.
type Kind[R any] struct {
	FileName string // inside the data folder: "prints.json"
	List     string // name of the list in the document: "prints"
	Says     string // what they are, for sentences: "the print records"
	Again    string // what to do when the file is lost: "measure the print again"
	// Check returns what is wrong with a record that was read, or nil.
	Check func(R) error
}

// Read returns the records in the data folder, oldest first. A missing file holds
// none. A damaged file, or one of a newer program, is an error that names it; it is
// left as it is.
func (k Kind[R]) Read(dataFolder string) ([]R, error) {
	path := filepath.Join(dataFolder, k.FileName)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, problem.New(problem.FileAccess, "could not read "+path, "check its permissions").Because(err)
	}
	var document map[string]json.RawMessage
	var version int
	var records []R
	if err := json.Unmarshal(data, &document); err != nil {
		return nil, k.damaged(path, err)
	}
	if err := json.Unmarshal(orNull(document["format"]), &version); err != nil {
		return nil, k.damaged(path, err)
	}
	if version > format {
		return nil, problem.Newf(problem.FileAccess, "use that version to read it",
			"%s was written by a newer version of fairedge (format %d)", path, version)
	}
	if err := json.Unmarshal(orNull(document[k.List]), &records); err != nil {
		return nil, k.damaged(path, err)
	}
	for i, r := range records {
		if err := k.Check(r); err != nil {
			return nil, k.damaged(path, fmt.Errorf("record %d: %w", i+1, err))
		}
	}
	return records, nil
}

func orNull(raw json.RawMessage) json.RawMessage {
	if raw == nil {
		return json.RawMessage("null")
	}
	return raw
}

func (k Kind[R]) damaged(path string, cause error) error {
	return problem.New(problem.FileAccess, fmt.Sprintf("%s in %s cannot be understood (%v)", k.Says, path, cause),
		"move the file away, then "+k.Again).Because(cause)
}

// Add appends a record, which the caller has checked, to those in the data folder.
// The old file stays whole until the new one is complete, and programs that add at
// the same time wait for each other, so that no record is lost.
func (k Kind[R]) Add(dataFolder string, r R) error {
	unlock, err := k.lock(dataFolder)
	if err != nil {
		return err
	}
	defer unlock()
	records, err := k.Read(dataFolder)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(map[string]any{"format": format, k.List: append(records, r)}); err != nil {
		return fmt.Errorf("encoding %s: %w", k.Says, err)
	}
	return safefile.WriteFile(filepath.Join(dataFolder, k.FileName), out.Bytes(), safefile.Replace)
}

// lock holds the kind's lock file, made beside the records, until unlock is called or
// the program ends. The records' own file cannot be locked: each Add replaces it.
func (k Kind[R]) lock(dataFolder string) (unlock func(), err error) {
	path := filepath.Join(dataFolder, "."+k.FileName+".lock")
	if err := os.MkdirAll(dataFolder, 0o777); err != nil {
		return nil, problem.New(problem.FileAccess, "could not make the folder "+dataFolder, "check its permissions").Because(err)
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o644)
	if err != nil {
		return nil, problem.New(problem.FileAccess, "could not write "+path, "check the folder's permissions and the free space").Because(err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX); err != nil {
		return nil, errors.Join(fmt.Errorf("locking %s: %w", path, err), f.Close())
	}
	return func() { _ = f.Close() }, nil
}
