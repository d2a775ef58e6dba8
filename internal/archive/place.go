package archive

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"fairedge/internal/problem"
)

// temporaryName is what unfinished files are called (os.CreateTemp).
const temporaryName = ".fairedge-*.part"

// leftover is the age at which an unfinished file belongs to no program any more: no
// backup takes a day.
const leftover = 24 * time.Hour

// clearLeftovers removes unfinished files of programs that were killed long ago; a
// backup's can be as large as the archive.
func clearLeftovers(dir string) {
	names, err := filepath.Glob(filepath.Join(escapeGlob(dir), temporaryName+"*"))
	if err != nil {
		return
	}
	for _, name := range names {
		if info, err := os.Lstat(name); err == nil && time.Since(info.ModTime()) > leftover {
			_ = os.RemoveAll(name)
		}
	}
}

// escapeGlob makes a folder's name stand for itself in a pattern.
func escapeGlob(dir string) string {
	var out []rune
	for _, r := range dir {
		if r == '*' || r == '?' || r == '[' || r == '\\' {
			out = append(out, '\\')
		}
		out = append(out, r)
	}
	return string(out)
}

// intoPlace has a file made under a temporary name beside path, syncs it and
// links it to its own name, which fails when that name is taken.
func intoPlace(path string, fill func(temporary string) error) error {
	if _, err := os.Lstat(path); err == nil {
		return taken(path)
	}
	clearLeftovers(filepath.Dir(path))
	f, err := os.CreateTemp(filepath.Dir(path), temporaryName)
	if err != nil {
		return fileProblem("write", path, err)
	}
	temporary := f.Name()
	f.Close()
	defer func() {
		for _, suffix := range []string{"", "-wal", "-shm", "-journal"} {
			_ = os.Remove(temporary + suffix)
		}
	}()
	if err := fill(temporary); err != nil {
		return err
	}
	if err := makeDurable(temporary); err != nil {
		return fileProblem("write", path, err)
	}
	if err := linkOrRename(temporary, path); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(path))
}

func makeDurable(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	// Personal data: the shop's own program only, unless the shop decides otherwise.
	return errors.Join(f.Chmod(0o600), f.Sync(), f.Close())
}

// linkOrRename gives a file its name. File systems without hard links (some memory
// sticks) get a check and a rename.
func linkOrRename(temporary, path string) error {
	err := os.Link(temporary, path)
	if err == nil {
		return nil
	}
	if _, there := os.Lstat(path); there == nil || errors.Is(err, fs.ErrExist) {
		return taken(path)
	}
	if err := os.Rename(temporary, path); err != nil {
		return fileProblem("write", path, err)
	}
	return nil
}

func taken(path string) error {
	return problem.Newf(problem.FileExists, "choose another name", "%s is already there", path)
}

// syncFolder makes a new name durable; systems that cannot sync a folder are
// forgiven.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fileProblem("open", dir, err)
	}
	_ = d.Sync()
	return d.Close()
}
