package safefile

import (
	"bufio"
	"errors"
	"io"
	"os"
	"path/filepath"

	"fairedge/internal/problem"
)

// Stream stores one file at path by the same rules as WriteSet, without all its bytes
// in memory: write is given where to write them. When write fails, so does Stream, and
// nothing is left behind.
func Stream(path string, existing Existing, write func(io.Writer) error) error {
	dir, name := filepath.Split(filepath.Clean(path))
	dir = filepath.Clean(dir)
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return problem.Newf(problem.Usage, "name a file in it", "%s is a folder", path)
	}
	if err := checkNames(dir, []File{{Name: name}}, existing); err != nil {
		return err
	}
	made, err := makeFolder(dir)
	if err != nil {
		return err
	}
	if err := streamInto(dir, name, existing, write); err != nil {
		removeFolders(made)
		return err
	}
	return nil
}

func streamInto(dir, name string, existing Existing, write func(io.Writer) error) error {
	final := filepath.Join(dir, name)
	f, err := os.CreateTemp(dir, ".fairedge-*.part")
	if err != nil {
		return cannot("write", final, err)
	}
	defer os.Remove(f.Name()) // already renamed away when all went well
	disk := &noting{w: f}
	buffer := bufio.NewWriterSize(disk, 1<<16)
	if err = write(buffer); err == nil {
		err = buffer.Flush()
	}
	if err == nil && disk.err == nil {
		disk.err = errors.Join(f.Chmod(0o644), f.Sync())
	}
	if closing := f.Close(); disk.err == nil {
		disk.err = closing
	}
	switch {
	case disk.err != nil:
		return cannot("write", final, disk.err)
	case err != nil:
		return err
	}
	if err := place(f.Name(), final, existing); err != nil {
		return err
	}
	return syncFolder(dir)
}

// noting remembers a failure of the disk, to tell it from one of whoever writes.
type noting struct {
	w   io.Writer
	err error
}

func (n *noting) Write(p []byte) (int, error) {
	k, err := n.w.Write(p)
	if err != nil {
		n.err = err
	}
	return k, err
}
