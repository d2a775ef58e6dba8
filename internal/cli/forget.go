package cli

import (
	"context"
	"fmt"
	"slices"

	"fairedge/internal/archive"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

type forgetFlags struct {
	archiveFlags
	customer    string
	yes, finish bool
}

func newForgetCommand(env Environment) *cobra.Command {
	var flags forgetFlags
	cmd := &cobra.Command{
		Use:   "forget (N... | --customer NAME)",
		Short: "Delete a customer's personal data for good",
		Long: `Deletes from the archive, for the jobs N or all jobs of a customer, in all their
revisions: words, notes, photos, drawings and pictures. What cuts a cushion stays,
without a name: number, dates, sizes, outline, recipe. The bytes are overwritten and
the file is read through afterwards to confirm that the name is gone.

It cannot be undone, and it cannot reach copies: delete old backups and files that
were given out yourself. Without --yes it only says what would go.`,
		Example: `  fairedge forget --customer "Zoë Nørgaard"
  fairedge forget 12 13 --yes`,
		RunE: func(cmd *cobra.Command, args []string) error { return runForget(cmd.Context(), env, args, flags) },
	}
	flags.register(cmd)
	cmd.Flags().StringVar(&flags.customer, "customer", "", "all jobs of this customer")
	cmd.Flags().BoolVar(&flags.yes, "yes", false, "do it")
	cmd.Flags().BoolVar(&flags.finish, "finish", false, "clear the bytes of what was deleted before, when another program was in the way")
	return cmd
}

func runForget(ctx context.Context, env Environment, args []string, flags forgetFlags) error {
	if !flags.finish && (len(args) == 0) == (flags.customer == "") {
		return problem.New(problem.Usage, "say whom to forget", "give the numbers of jobs, or --customer NAME")
	}
	return flags.writing(ctx, env, func(a *archive.Archive) error {
		if flags.finish {
			if err := a.Purge(ctx); err != nil {
				return err
			}
			fmt.Fprintln(env.Out, "The bytes of everything that was deleted are cleared from the archive.")
			return nil
		}
		jobs, err := jobsToForget(ctx, a, args, flags.customer)
		if err != nil {
			return err
		}
		if !flags.yes {
			return wouldForget(ctx, env, a, jobs)
		}
		if env.IsTerminal { // an archive of a gigabyte takes half a minute
			fmt.Fprint(env.Err, "\r\033[Kdeleting, writing the file anew and reading it through ...")
		}
		gone, err := a.Forget(ctx, jobs)
		env.endProgress()
		if err != nil {
			return err
		}
		if flags.json {
			return writeJSON(env.Out, map[string]any{"jobs": gone.Jobs, "revisions": gone.Words, "notes": gone.Notes, "files": gone.Parts,
				"elsewhere": gone.Elsewhere, "confirmed": gone.Confirmed})
		}
		printForgotten(env, gone)
		return nil
	})
}

func jobsToForget(ctx context.Context, a *archive.Archive, args []string, customer string) ([]int, error) {
	if customer != "" {
		jobs, err := a.JobsOf(ctx, customer)
		if err == nil && len(jobs) == 0 {
			err = problem.Newf(problem.NotKept, "look for the spelling with fairedge find", "no job has a customer called %q", customer)
		}
		return jobs, err
	}
	var jobs []int
	for _, text := range args {
		job, err := jobNumber(text)
		if err != nil {
			return nil, err
		}
		jobs = append(jobs, job)
	}
	slices.Sort(jobs)
	return slices.Compact(jobs), nil
}

// wouldForget lists what would be deleted, and refuses.
func wouldForget(ctx context.Context, env Environment, a *archive.Archive, jobs []int) error {
	var rows [][]string
	for _, job := range jobs {
		r, err := a.Get(ctx, job, archive.Newest)
		if err != nil {
			return err
		}
		rows = append(rows, jobRow(r))
	}
	fmt.Fprint(env.Out, listing(jobColumns(), rows))
	return problem.Newf(problem.Usage, "add --yes to delete it for good", "the personal data of %s would be deleted, and was not", counted(len(jobs), "job", "jobs"))
}

func printForgotten(env Environment, gone archive.Forgotten) {
	fmt.Fprintf(env.Out, "Deleted in %s: the words of %s, %s and %s.\n", counted(len(gone.Jobs), "job", "jobs"),
		counted(gone.Words, "revision", "revisions"), counted(gone.Notes, "note", "notes"), counted(gone.Parts, "kept file", "kept files"))
	for _, job := range gone.Elsewhere {
		fmt.Fprintf(env.Out, "Note: the name also stands in job %d, which was not touched.\n", job)
	}
	switch {
	case gone.Confirmed:
		fmt.Fprintln(env.Out, "Confirmed: the archive's file was read through and the name is nowhere in it.")
	case len(gone.LookedFor) == 0:
		fmt.Fprintln(env.Out, "There was no name long enough to look for in the bytes of the file; it was written anew without the words.")
	}
	fmt.Fprintln(env.Out, "Backups and files that were given out still hold it: delete those yourself.")
}
