// Package safefile stores finished files so that nothing of the user's is ever
// lost: a set of files appears whole or not at all, and none replaces an existing
// one without being asked to.
package safefile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"fairedge/internal/problem"
)

// File is one finished file: its name inside the folder and all its bytes.
type File struct {
	Name string
	Data []byte
}

// Existing says what to do with a file that is already there.
type Existing int

// Refuse is the rule; Replace only when the person asked for it.
const (
	Refuse Existing = iota
	Replace
)

// WriteSet stores the files in dir, which is made if it is missing. Every file is
// first written under a temporary name in dir and synced to disk; only when all
// have succeeded are they renamed into place and the folder synced. On failure
// the temporary files (and dir, if it was made here) are removed and an error says
// which file could not be written and why.
//
// Under Refuse each name is taken with a hard link, which fails when the name
// exists, so that two programs at once cannot overwrite each other either; names
// already placed by the failed set are taken back.
func WriteSet(dir string, files []File, existing Existing) error {
	if err := checkNames(dir, files, existing); err != nil {
		return err
	}
	made, err := makeFolder(dir)
	if err != nil {
		return err
	}
	if err := writeInto(dir, files, existing); err != nil {
		removeFolders(made)
		return err
	}
	return nil
}

// WriteFile stores one file at path by the same rules as WriteSet.
func WriteFile(path string, data []byte, existing Existing) error {
	return WriteSet(filepath.Dir(path), []File{{filepath.Base(path), data}}, existing)
}

// checkNames refuses early, before any work is written, when a name is taken.
func checkNames(dir string, files []File, existing Existing) error {
	for _, f := range files {
		if f.Name == "" || f.Name != filepath.Base(f.Name) || f.Name == "." || f.Name == ".." {
			return problem.Newf(problem.Usage, "use a plain file name", "%q cannot name a file inside %s", f.Name, dir)
		}
		if existing == Replace {
			continue
		}
		if _, err := os.Lstat(filepath.Join(dir, f.Name)); err == nil {
			return taken(filepath.Join(dir, f.Name))
		}
	}
	return nil
}

func taken(path string) error {
	return problem.Newf(problem.FileExists,
		"choose another folder with --out, or add --force to replace it", "%s is already there", path)
}

// makeFolder makes dir and its missing parents; it returns those it made,
// innermost first.
func makeFolder(dir string) ([]string, error) {
	var missing []string
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		if _, err := os.Stat(d); err == nil || !errors.Is(err, fs.ErrNotExist) || d == filepath.Dir(d) {
			break
		}
		missing = append(missing, d)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, cannot("make the folder", dir, err)
	}
	return missing, nil
}

func removeFolders(made []string) {
	for _, d := range made {
		if os.Remove(d) != nil {
			return // not empty: somebody else uses it now
		}
	}
}

func writeInto(dir string, files []File, existing Existing) (err error) {
	var temporary, placed []string
	defer func() {
		for _, name := range temporary {
			if name != "" {
				_ = os.Remove(name) // already renamed away when all went well
			}
		}
		if err != nil && existing == Refuse {
			for _, name := range placed {
				_ = os.Remove(name)
			}
		}
	}()
	var faults []error
	temporary, faults = writeTemporaries(dir, files)
	for i, f := range files {
		if faults[i] != nil {
			return cannot("write", filepath.Join(dir, f.Name), faults[i])
		}
	}
	for i, f := range files {
		final := filepath.Join(dir, f.Name)
		if err := place(temporary[i], final, existing); err != nil {
			return err
		}
		placed = append(placed, final)
	}
	return syncFolder(dir)
}

// writeTemporaries writes the files under temporary names, several at once: a disk
// syncs many files in hardly more time than one. A name is empty where there is no file.
func writeTemporaries(dir string, files []File) (names []string, faults []error) {
	const atOnce = 16
	names, faults = make([]string, len(files)), make([]error, len(files))
	var group sync.WaitGroup
	room := make(chan struct{}, atOnce)
	for i := range files {
		room <- struct{}{}
		group.Go(func() {
			names[i], faults[i] = writeTemporary(dir, files[i].Data)
			<-room
		})
	}
	group.Wait()
	return names, faults
}

func writeTemporary(dir string, data []byte) (name string, err error) {
	f, err := os.CreateTemp(dir, ".fairedge-*.part")
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err := f.Write(data); err != nil {
		return f.Name(), err
	}
	if err := f.Chmod(0o644); err != nil {
		return f.Name(), err
	}
	return f.Name(), f.Sync()
}

// place gives the temporary file its final name. A file system without hard links
// (some memory sticks) gets a check followed by a rename instead.
func place(temporary, final string, existing Existing) error {
	if existing == Refuse {
		err := os.Link(temporary, final)
		switch {
		case err == nil:
			return nil // the temporary name goes with the others
		case errors.Is(err, fs.ErrExist):
			return taken(final)
		}
		if _, err := os.Lstat(final); err == nil {
			return taken(final)
		}
	}
	if err := os.Rename(temporary, final); err != nil {
		return cannot("write", final, err)
	}
	return nil
}

// syncFolder makes the new names durable. Some systems cannot sync a folder; the
// files themselves are safe by then.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return cannot("open", dir, err)
	}
	_ = d.Sync()
	return d.Close()
}

func cannot(verb, path string, cause error) error {
	var reason error = cause
	var pathError *fs.PathError
	if errors.As(cause, &pathError) {
		reason = pathError.Err
	}
	return problem.New(problem.FileAccess, fmt.Sprintf("could not %s %s (%v)", verb, path, reason),
		"check the folder's name, its permissions and the free space").Because(cause)
}
