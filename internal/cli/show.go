package cli

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"fairedge/internal/archive"

	"github.com/spf13/cobra"
)

func newShowCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	cmd := &cobra.Command{
		Use:   "show N",
		Short: "Show all that is kept of a job",
		Long: `Shows what is kept of job N: its words, sizes, notes, files and what was made from
it. N:2 shows its second revision.`,
		Example: `  fairedge show 12
  fairedge show 12:1 --json`,
		Args: exactly(1, "one job"),
		RunE: func(cmd *cobra.Command, args []string) error { return runShow(cmd.Context(), env, args[0], flags) },
	}
	flags.register(cmd)
	return cmd
}

func runShow(ctx context.Context, env Environment, which string, flags archiveFlags) error {
	job, revision, err := jobAndRevision(which)
	if err != nil {
		return err
	}
	return flags.reading(ctx, env, func(a *archive.Archive) error {
		r, err := a.Get(ctx, job, revision)
		if err != nil {
			return err
		}
		history, err := a.History(ctx, job)
		if err != nil {
			return err
		}
		if flags.json {
			return writeJSON(env.Out, map[string]any{"job": revisionJSON(r), "revisions": len(history)})
		}
		printJob(env.Out, r, history)
		return nil
	})
}

func printJob(w io.Writer, r archive.Revision, history []archive.Revision) {
	fmt.Fprintf(w, "Job %d, revision %d of %d, %s %s UTC\n", r.Job, r.Saved.Revision, len(history), reasonWords(r), savedWords(r.SavedAt))
	if r.WordsGone {
		fmt.Fprintln(w, "The customer's personal data was deleted.")
	}
	chair := r.Chair
	if set := r.SetText(); set != "" {
		chair = strings.TrimSpace(chair + " (" + set + ")")
	}
	for _, line := range [][2]string{
		{"Title", r.Title}, {"Customer", r.Customer}, {"Contact", r.Contact}, {"Place", r.Place}, {"Chair", chair}, {"Measured", r.MadeOn},
		{"Size", allSizes(r)},
	} {
		if line[1] != "" {
			fmt.Fprintf(w, "%-9s %s\n", line[0], line[1])
		}
	}
	for _, h := range history {
		if h.Note != "" {
			fmt.Fprintf(w, "%-9s %s (revision %d)\n", "Note", h.Note, h.Saved.Revision)
		}
		for _, m := range h.Made {
			fmt.Fprintf(w, "%-9s %s UTC: %s (revision %d, %s)\n", "Made", savedWords(m.SavedAt), m.What, h.Saved.Revision, m.Program)
		}
	}
	fmt.Fprintf(w, "\nFiles, kept by %s:\n", r.Program)
	for _, p := range r.Parts {
		fmt.Fprintf(w, "  %s  %8s  %s\n", fitted(p.Name, 34), bytesWords(p.Length), p.Role)
	}
}

// allSizes writes the sizes that are known.
func allSizes(r archive.Revision) string {
	if r.Width == nil || r.Depth == nil {
		return ""
	}
	text := fmt.Sprintf("%.1f x %.1f mm", *r.Width, *r.Depth)
	if r.Perimeter != nil {
		text += fmt.Sprintf(", %.1f mm around", *r.Perimeter)
	}
	if r.Area != nil {
		text += fmt.Sprintf(", %.0f cm²", *r.Area/100)
	}
	if r.Within != nil {
		text += fmt.Sprintf(", within %.1f mm", math.Ceil(*r.Within*10-1e-9)/10)
	}
	return text
}

// reasonWords says why a revision was saved.
func reasonWords(r archive.Revision) string {
	if r.Reason == archive.Restored {
		return fmt.Sprintf("restored from %d", r.RestoredOf)
	}
	return string(r.Reason)
}
