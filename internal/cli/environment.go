// Package cli is the command line: it reads flags, calls one function, prints.
package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"fairedge/internal/problem"
)

// Environment is everything a command takes from outside its arguments, so that
// tests can supply it.
type Environment struct {
	Out, Err   io.Writer
	IsTerminal bool // Err is a terminal: progress may be shown
	Now        func() time.Time
	Getenv     func(string) string
}

// SystemEnvironment returns the environment of a real run.
func SystemEnvironment() Environment {
	info, err := os.Stderr.Stat()
	return Environment{
		Out:        os.Stdout,
		Err:        os.Stderr,
		IsTerminal: err == nil && info.Mode()&os.ModeCharDevice != 0,
		Now:        time.Now,
		Getenv:     os.Getenv,
	}
}

// today returns the date that prints carry. SOURCE_DATE_EPOCH, the reproducible
// builds convention, fixes it.
func (e Environment) today() (time.Time, error) {
	text := e.Getenv("SOURCE_DATE_EPOCH")
	if text == "" {
		return e.Now(), nil
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, problem.New(problem.Usage,
			fmt.Sprintf("SOURCE_DATE_EPOCH is %q", text), "set it to whole seconds since 1970 or unset it")
	}
	return time.Unix(seconds, 0).UTC(), nil
}

// dataFolder returns where records are kept: FAIREDGE_DATA, or the user's data
// folder (XDG Base Directory Specification 0.8).
func (e Environment) dataFolder() (string, error) {
	if dir := e.Getenv("FAIREDGE_DATA"); dir != "" {
		return dir, nil
	}
	if dir := e.Getenv("XDG_DATA_HOME"); dir != "" && filepath.IsAbs(dir) {
		return filepath.Join(dir, "fairedge"), nil
	}
	if home := e.Getenv("HOME"); home != "" {
		return filepath.Join(home, ".local", "share", "fairedge"), nil
	}
	return "", problem.New(problem.FileAccess, "there is no home folder to keep records in", "set FAIREDGE_DATA to a folder")
}
