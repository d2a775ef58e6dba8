package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"fairedge/internal/archive"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

func newBackupCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	cmd := &cobra.Command{
		Use:   "backup TO",
		Short: "Copy the archive, while it is in use, and check the copy",
		Long: `Copies the archive to a new file, or into a folder under the day's name. The copy is
read through completely before it gets its name; nothing is ever replaced.

To go back to a backup, end every fairedge and put the copy in the archive's place
(with no -wal and -shm files beside it), or name it with --archive.`,
		Example: `  fairedge backup /media/stick
  fairedge backup archive-before-spring.fairedge`,
		Args: exactly(1, "one file or folder"),
		RunE: func(cmd *cobra.Command, args []string) error { return runBackup(cmd.Context(), env, args[0], flags) },
	}
	flags.register(cmd)
	return cmd
}

func runBackup(ctx context.Context, env Environment, to string, flags archiveFlags) error {
	today, err := env.today()
	if err != nil {
		return err
	}
	if info, err := os.Stat(to); err == nil && info.IsDir() {
		to = filepath.Join(to, "archive-"+today.Format("2006-01-02")+".fairedge")
	}
	return flags.writing(ctx, env, func(a *archive.Archive) error {
		health, err := a.Backup(ctx, to, env.progress("copying and checking"))
		env.endProgress()
		if err != nil {
			return err
		}
		if flags.json {
			return writeJSON(env.Out, health)
		}
		fmt.Fprintf(env.Out, "Copied and checked: %s in %s.\n", holdings(health), filepath.ToSlash(to))
		return nil
	})
}

// holdings says how much an archive holds.
func holdings(h archive.Health) string {
	return fmt.Sprintf("%s, %s, %s (%s)", counted(h.Jobs, "job", "jobs"), counted(h.Revisions, "revision", "revisions"),
		counted(h.Contents, "document", "documents"), bytesWords(h.Bytes))
}

func newCheckArchiveCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	cmd := &cobra.Command{
		Use:   "check-archive [FILE]",
		Short: "Read the whole archive, or a backup, and say whether it is sound",
		Example: `  fairedge check-archive
  fairedge check-archive /media/stick/archive-2026-01-31.fairedge`,
		Args: atMostOne("one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				flags.file = args[0]
			}
			return runCheckArchive(cmd.Context(), env, flags)
		},
	}
	flags.register(cmd)
	return cmd
}

func atMostOne(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) <= 1 {
			return nil
		}
		return exactly(1, what)(cmd, args)
	}
}

func runCheckArchive(ctx context.Context, env Environment, flags archiveFlags) error {
	path, err := flags.path(env)
	if err != nil {
		return err
	}
	health, err := archive.Check(ctx, path, env.progress("checking"))
	env.endProgress()
	if err != nil {
		return err
	}
	if flags.json {
		err = writeJSON(env.Out, health)
	} else {
		printHealth(env, health)
	}
	if err == nil && !health.Sound() {
		err = problem.Newf(problem.ArchiveDamaged, "take the last backup, or save what can be read with fairedge salvage",
			"the archive %s has %s", filepath.ToSlash(path), counted(len(health.Faults)+health.More, "fault", "faults"))
	}
	return err
}

func printHealth(env Environment, h archive.Health) {
	fmt.Fprintf(env.Out, "%s, format %d.\n", holdings(h), h.Format)
	for _, f := range h.Faults {
		fmt.Fprintf(env.Out, "Fault: %s.\n", f)
	}
	if h.Sound() {
		fmt.Fprintln(env.Out, "The archive is sound: every byte was read and is as it was kept.")
	}
}

type salvageFlags struct {
	archiveFlags
	out string
}

func newSalvageCommand(env Environment) *cobra.Command {
	var flags salvageFlags
	cmd := &cobra.Command{
		Use:   "salvage [FILE] --out NEW",
		Short: "Save what can be read of a damaged archive into a new one",
		Long: `Reads a damaged archive, which is left exactly as it is, and writes what can still be
read into a new one. Files whose bytes have changed are left out and named.`,
		Example: `  fairedge salvage --out rescued.fairedge
  fairedge salvage old.fairedge --out rescued.fairedge`,
		Args: atMostOne("one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				flags.file = args[0]
			}
			return runSalvage(cmd.Context(), env, flags)
		},
	}
	flags.register(cmd)
	cmd.Flags().StringVar(&flags.out, "out", "", "the new archive's file")
	return cmd
}

func runSalvage(ctx context.Context, env Environment, flags salvageFlags) error {
	if flags.out == "" {
		return problem.New(problem.Usage, "there is no file for what is saved", "add --out NEW")
	}
	path, err := flags.path(env)
	if err != nil {
		return err
	}
	saved, err := archive.Salvage(ctx, path, flags.out, env.progress("salvaging"))
	env.endProgress()
	if err != nil {
		return err
	}
	if flags.json {
		return writeJSON(env.Out, saved)
	}
	fmt.Fprintf(env.Out, "Saved into %s: %s.\n", filepath.ToSlash(flags.out), holdings(saved.Health))
	for _, lost := range saved.Lost {
		fmt.Fprintf(env.Out, "Lost: %s.\n", lost)
	}
	if saved.MoreLost > 0 {
		fmt.Fprintf(env.Out, "Lost: %d more.\n", saved.MoreLost)
	}
	if !saved.Sound() {
		return errors.New("the new archive has faults: " + saved.Faults[0])
	}
	if len(saved.Lost) == 0 {
		fmt.Fprintln(env.Out, "Nothing was lost.")
	}
	return nil
}
