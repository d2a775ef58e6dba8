package cli

import (
	"context"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"fairedge/internal/archive"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

// archiveCommands are the commands that work on the archive.
func archiveCommands(env Environment) []*cobra.Command {
	return []*cobra.Command{
		newKeepCommand(env), newFindCommand(env), newShowCommand(env), newHistoryCommand(env), newCompareCommand(env),
		newChangeCommand(env), newNoteCommand(env), newRestoreCommand(env), newAgainCommand(env), newForgetCommand(env),
		newBackupCommand(env), newCheckArchiveCommand(env), newSalvageCommand(env),
		newExportCommand(env), newImportJobsCommand(env),
	}
}

// archiveFlags say which archive a command works on.
type archiveFlags struct {
	file string
	json bool
}

func (f *archiveFlags) register(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.file, "archive", "", "the archive's file (default: FAIREDGE_ARCHIVE, or archive.fairedge in the data folder)")
	cmd.Flags().BoolVar(&f.json, "json", false, "print JSON instead of words")
}

// path is the archive's file: said, in the environment, or in the data folder.
func (f archiveFlags) path(env Environment) (string, error) {
	if f.file != "" {
		return f.file, nil
	}
	if file := env.Getenv("FAIREDGE_ARCHIVE"); file != "" {
		return file, nil
	}
	folder, err := env.dataFolder()
	return filepath.Join(folder, archive.FileName), err
}

func (env Environment) archiveOptions() archive.Options {
	return archive.Options{Program: "fairedge " + Version, Now: env.Now}
}

// reading opens the archive to look at, works with it and closes it.
func (f archiveFlags) reading(ctx context.Context, env Environment, work func(*archive.Archive) error) error {
	options := env.archiveOptions()
	options.ReadOnly = true
	return f.with(ctx, env, options, archive.Open, work)
}

// writing opens the archive to save in.
func (f archiveFlags) writing(ctx context.Context, env Environment, work func(*archive.Archive) error) error {
	return f.with(ctx, env, env.archiveOptions(), archive.Open, work)
}

// keeping opens the archive to save a first job in; it is made if it is missing.
func (f archiveFlags) keeping(ctx context.Context, env Environment, work func(*archive.Archive) error) error {
	return f.with(ctx, env, env.archiveOptions(), archive.OpenOrCreate, work)
}

type opener func(context.Context, string, archive.Options) (*archive.Archive, error)

func (f archiveFlags) with(ctx context.Context, env Environment, options archive.Options, open opener, work func(*archive.Archive) error) error {
	path, err := f.path(env)
	if err != nil {
		return err
	}
	a, err := open(ctx, path, options)
	if err != nil {
		return err
	}
	if err := work(a); err != nil {
		_ = a.Close() // the first failure is the one to tell
		return err
	}
	return a.Close()
}

// jobAndRevision reads "12" or "12:3"; without a revision the newest is meant.
func jobAndRevision(text string) (job, revision int, err error) {
	number, rest, said := strings.Cut(strings.TrimPrefix(text, "#"), ":")
	job, err = strconv.Atoi(number)
	if err == nil && said {
		revision, err = strconv.Atoi(rest)
	}
	if err != nil || job < 1 || said && revision < 1 {
		return 0, 0, problem.Newf(problem.Usage, "write its number, like 12, or 12:3 for its third revision", "%q is no job", text)
	}
	return job, revision, nil
}

// jobNumber reads "12".
func jobNumber(text string) (int, error) {
	job, revision, err := jobAndRevision(text)
	if err == nil && revision != 0 {
		err = problem.Newf(problem.Usage, "write the job's number alone, like 12", "%q names a revision", text)
	}
	return job, err
}

// progress shows how far long work has come on a terminal's last line.
func (env Environment) progress(doing string) archive.Progress {
	if !env.IsTerminal {
		return nil
	}
	shown := int64(-1)
	return func(done, total int64) {
		if percent := 100 * done / max(total, 1); percent != shown {
			shown = percent
			fmt.Fprintf(env.Err, "\r\033[K%s %d %%", doing, percent)
		}
	}
}

// endProgress clears the progress line.
func (env Environment) endProgress() {
	if env.IsTerminal {
		fmt.Fprint(env.Err, "\r\033[K")
	}
}
