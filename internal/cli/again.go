package cli

import (
	"context"
	"fmt"
	"path/filepath"

	"fairedge/internal/archive"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"

	"github.com/spf13/cobra"
)

type againFlags struct {
	archiveFlags
	out          string
	photo, force bool
	recipe       string   // another recipe for the pad
	set          []string // changes to the recipe
	pages        pageFlags
}

func newAgainCommand(env Environment) *cobra.Command {
	var flags againFlags
	cmd := &cobra.Command{
		Use:   "again N --out DIR",
		Short: "Write the files of a kept job again, or its pad with changes",
		Long: `Writes all files of job N into DIR as they were kept: drawings, pages, measurement,
check pictures, recipe. No chair, photo or template is needed. N:2 takes its second
revision. With --photo the photo comes too. The archive records that it was done.

With --set or --recipe the pad of the kept seat is made anew with another thickness,
cloth or piping, and it is said what comes out otherwise than before.`,
		Example: `  fairedge again 12 --out alder-again
  fairedge again 12:1 --out first-version
  fairedge again 12 --out alder-thicker --set foam.thickness=2in --set piping.on=no`,
		Args: exactly(1, "one job"),
		RunE: func(cmd *cobra.Command, args []string) error { return runAgain(cmd.Context(), env, args[0], flags) },
	}
	flags.register(cmd)
	cmd.Flags().StringVar(&flags.out, "out", "", "folder for the files; made if it is missing")
	cmd.Flags().BoolVar(&flags.photo, "photo", false, "write the photo too")
	cmd.Flags().StringArrayVar(&flags.set, "set", nil, "make the pad with one value of its recipe changed, as foam.thickness=2in (may be repeated)")
	cmd.Flags().StringVar(&flags.recipe, "recipe", "", "make the pad by another recipe: a built-in one, or a file")
	flags.pages.register(cmd)
	cmd.Flags().BoolVar(&flags.force, "force", false, "replace files that are already in the folder")
	return cmd
}

func runAgain(ctx context.Context, env Environment, which string, flags againFlags) error {
	if flags.out == "" {
		return problem.New(problem.Usage, "there is no folder for the files", "add --out DIR")
	}
	job, revision, err := jobAndRevision(which)
	if err != nil {
		return err
	}
	again := func(a *archive.Archive) error {
		if flags.isChanged() {
			return writeChanged(ctx, env, a, archive.Saved{Job: job, Revision: revision}, flags)
		}
		return writeAgain(ctx, env, a, archive.Saved{Job: job, Revision: revision}, flags)
	}
	err = flags.writing(ctx, env, again)
	if problem.KindOf(err) == problem.FileAccess {
		// The archive may lie where nothing can be written: then nothing is recorded.
		if err := flags.reading(ctx, env, again); err == nil {
			return nil
		}
	}
	return err
}

func writeAgain(ctx context.Context, env Environment, a *archive.Archive, of archive.Saved, flags againFlags) error {
	r, err := a.Get(ctx, of.Job, of.Revision)
	if err != nil {
		return err
	}
	files, err := filesOf(ctx, a, r, flags.photo)
	if err != nil {
		return err
	}
	if len(files) == 0 {
		return problem.Newf(problem.NotKept, "see fairedge history for a revision that has files", "job %d:%d has no files to write", r.Job, r.Saved.Revision)
	}
	if err := safefile.WriteSet(flags.out, files, existing(flags.force)); err != nil {
		return err
	}
	if !a.IsReadOnly() {
		if err := a.Record(ctx, r.Saved, counted(len(files), "file", "files")+" written again"); err != nil {
			return err
		}
	}
	if flags.json {
		return writeJSON(env.Out, revisionJSON(r))
	}
	fmt.Fprintf(env.Out, "Job %d, revision %d, kept by %s: %s in %s, byte for byte as kept.\n",
		r.Job, r.Saved.Revision, r.Program, counted(len(files), "file", "files"), filepath.ToSlash(flags.out))
	return nil
}

// filesOf reads the files to write: those of the job's folders, or the outline when
// nothing else is left of them.
func filesOf(ctx context.Context, a *archive.Archive, r archive.Revision, photo bool) (files []safefile.File, err error) {
	for _, given := range []func(archive.Role) bool{
		func(role archive.Role) bool { return givenOut(role, photo) },
		func(role archive.Role) bool { return role == archive.RoleShape },
	} {
		for _, p := range r.Parts {
			if !given(p.Role) {
				continue
			}
			data, err := a.Data(ctx, p)
			if err != nil {
				return nil, err
			}
			files = append(files, safefile.File{Name: p.Name, Data: data})
		}
		if len(files) > 0 {
			break
		}
	}
	return files, nil
}

// givenOut tells the files of a job's folders from what the program keeps for itself.
func givenOut(role archive.Role, photo bool) bool {
	switch role {
	case archive.RoleShape:
		return false
	case archive.RolePhoto:
		return photo
	}
	return true
}
