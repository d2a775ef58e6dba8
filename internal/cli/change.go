package cli

import (
	"fmt"
	"strings"

	"fairedge/internal/archive"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

func newChangeCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	var words wordFlags
	cmd := &cobra.Command{
		Use:   "change N",
		Short: "Change a job's words: customer, place, chair, set",
		Long: `Saves a new revision of job N with the words that are given; the others stay, and
so do the earlier revisions. New files come with "fairedge keep DIR --job N".`,
		Example: `  fairedge change 12 --customer "Zoë Nørgaard-Smith"
  fairedge change 12 --set 6 --which 2`,
		Args: exactly(1, "one job"),
		RunE: func(cmd *cobra.Command, args []string) error {
			job, err := jobNumber(args[0])
			if err != nil {
				return err
			}
			return flags.writing(cmd.Context(), env, func(a *archive.Archive) error {
				saved, err := a.Change(cmd.Context(), job, archive.Newest, func(e *archive.Entry) error { return words.apply(cmd, e) })
				return tellSaved(cmd, env, a, saved, err, flags.json)
			})
		},
	}
	flags.register(cmd)
	words.register(cmd)
	return cmd
}

func newNoteCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	cmd := &cobra.Command{
		Use:     "note N TEXT...",
		Short:   "Add a note to a job",
		Example: `  fairedge note 12 "ties 30 cm, zip at the back"`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return problem.New(problem.Usage, "a note needs a job and a text", `write it like: fairedge note 12 "zip at the back"`)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			job, err := jobNumber(args[0])
			if err != nil {
				return err
			}
			return flags.writing(cmd.Context(), env, func(a *archive.Archive) error {
				saved, err := a.Note(cmd.Context(), job, strings.TrimSpace(strings.Join(args[1:], " ")))
				return tellSaved(cmd, env, a, saved, err, flags.json)
			})
		},
	}
	flags.register(cmd)
	return cmd
}

func newRestoreCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	cmd := &cobra.Command{
		Use:   "restore N:REVISION",
		Short: "Make an earlier revision of a job the newest again",
		Long: `Saves the state of an earlier revision as a new one. Nothing is lost: what was the
newest stays in the history, and all notes stay.`,
		Example: `  fairedge restore 12:1`,
		Args:    exactly(1, "one revision"),
		RunE: func(cmd *cobra.Command, args []string) error {
			job, revision, err := jobAndRevision(args[0])
			if err == nil && revision == 0 {
				err = problem.New(problem.Usage, "it is not said which revision", "write it like 12:1; fairedge history 12 lists them")
			}
			if err != nil {
				return err
			}
			return flags.writing(cmd.Context(), env, func(a *archive.Archive) error {
				saved, err := a.Restore(cmd.Context(), job, revision)
				return tellSaved(cmd, env, a, saved, err, flags.json)
			})
		},
	}
	flags.register(cmd)
	return cmd
}

// tellSaved says what was saved.
func tellSaved(cmd *cobra.Command, env Environment, a *archive.Archive, saved archive.Saved, err error, json bool) error {
	if err != nil {
		return err
	}
	if !json {
		_, err = fmt.Fprintf(env.Out, "Saved as revision %d of job %d.\n", saved.Revision, saved.Job)
		return err
	}
	r, err := a.Get(cmd.Context(), saved.Job, saved.Revision)
	if err != nil {
		return err
	}
	return writeJSON(env.Out, revisionJSON(r))
}
