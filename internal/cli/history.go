package cli

import (
	"context"
	"fmt"
	"strings"

	"fairedge/internal/archive"
	"fairedge/internal/likeness"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"

	"github.com/spf13/cobra"
)

func newHistoryCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	cmd := &cobra.Command{
		Use:   "history N",
		Short: "List the revisions of a job and what changed in each",
		Example: `  fairedge history 12
  fairedge history 12 --json`,
		Args: exactly(1, "one job"),
		RunE: func(cmd *cobra.Command, args []string) error { return runHistory(cmd.Context(), env, args[0], flags) },
	}
	flags.register(cmd)
	return cmd
}

func historyColumns() []column {
	return []column{{"No", 3, true}, {"saved (UTC)", 16, false}, {"why", 16, false}, {"what changed", 39, false}}
}

func runHistory(ctx context.Context, env Environment, which string, flags archiveFlags) error {
	job, err := jobNumber(which)
	if err != nil {
		return err
	}
	return flags.reading(ctx, env, func(a *archive.Archive) error {
		history, err := a.History(ctx, job)
		if err != nil {
			return err
		}
		forgotten, err := a.Forgettings(ctx, job)
		if err != nil {
			return err
		}
		if flags.json {
			return writeJSON(env.Out, map[string]any{"job": job, "revisions": revisionsJSON(history), "forgotten_at": forgotten})
		}
		var rows [][]string
		for i, r := range history {
			rows = append(rows, []string{fmt.Sprint(r.Saved.Revision), savedWords(r.SavedAt), reasonWords(r), changeWords(history, i)})
		}
		fmt.Fprint(env.Out, listing(historyColumns(), rows))
		for _, at := range forgotten {
			fmt.Fprintf(env.Out, "The customer's personal data was deleted on %s UTC.\n", savedWords(at))
		}
		return nil
	})
}

// changeWords says in what a revision differs from the one before.
func changeWords(history []archive.Revision, i int) string {
	r := history[i]
	var words []string
	if r.ClockSetBack {
		words = append(words, "(clock set back)")
	}
	if r.Note != "" {
		words = append(words, "note: "+r.Note)
	}
	if i > 0 {
		for _, d := range archive.Differences(history[i-1], r) {
			words = append(words, d.What)
		}
	}
	return strings.Join(words, ", ")
}

type compareFlags struct {
	archiveFlags
	out   string
	force bool
}

func newCompareCommand(env Environment) *cobra.Command {
	var flags compareFlags
	cmd := &cobra.Command{
		Use:   "compare N[:REVISION] M[:REVISION]",
		Short: "Compare two revisions or two jobs: words, sizes and outlines",
		Long: `Says in what the second differs from the first: words, sizes, files, and how far
their outlines are apart, lying with the middles of their backs on each other and as
they fit best. --out draws outline over outline, with the differences in mm.`,
		Example: `  fairedge compare 12:1 12:2
  fairedge compare 12 15 --out difference.svg`,
		Args: exactly(2, "two jobs or revisions"),
		RunE: func(cmd *cobra.Command, args []string) error { return runCompare(cmd.Context(), env, args, flags) },
	}
	flags.register(cmd)
	cmd.Flags().StringVar(&flags.out, "out", "", "draw the outlines over each other in this SVG")
	cmd.Flags().BoolVar(&flags.force, "force", false, "replace the drawing if it is there")
	return cmd
}

func runCompare(ctx context.Context, env Environment, which []string, flags compareFlags) error {
	var revisions [2]archive.Revision
	return flags.reading(ctx, env, func(a *archive.Archive) error {
		for i, text := range which {
			job, number, err := jobAndRevision(text)
			if err != nil {
				return err
			}
			if revisions[i], err = a.Get(ctx, job, number); err != nil {
				return err
			}
		}
		differences := archive.Differences(revisions[0], revisions[1])
		outlines, err := compareOutlines(ctx, a, revisions)
		if err != nil {
			return err
		}
		if flags.out != "" {
			if outlines == nil {
				return problem.New(problem.NotKept, "one of the two was kept without its shape", "leave out --out")
			}
			if err := safefile.WriteFile(flags.out, differenceSVG(*outlines), existing(flags.force)); err != nil {
				return err
			}
		}
		if flags.json {
			return writeJSON(env.Out, comparisonJSON(revisions, differences, outlines))
		}
		printComparison(env, differences, outlines)
		return nil
	})
}

// outlinesApart are two outlines and how they differ.
type outlinesApart struct {
	likeness.Comparison
	asLaid, bestFit string // sentences
	title           string
	first           archive.Saved
	second          archive.Saved
	net             pathData
}

// compareOutlines compares the shapes; nil when one of them is not kept.
func compareOutlines(ctx context.Context, a *archive.Archive, of [2]archive.Revision) (*outlinesApart, error) {
	first, err := shapeOf(ctx, a, of[0].Saved)
	if err == nil {
		second, err2 := shapeOf(ctx, a, of[1].Saved)
		if err = err2; err == nil {
			c, err := likeness.Compare(first, second, likeness.Options{})
			if err != nil {
				return nil, err
			}
			return &outlinesApart{
				Comparison: c, asLaid: c.AsLaid.Sentence(first.Net), bestFit: c.BestFit.Sentence(first.Net),
				title: fmt.Sprintf("%d:%d and %d:%d", of[0].Job, of[0].Saved.Revision, of[1].Job, of[1].Saved.Revision),
				first: of[0].Saved, second: of[1].Saved, net: dataOf(first.Net),
			}, nil
		}
	}
	if problem.KindOf(err) == problem.NotKept {
		return nil, nil
	}
	return nil, err
}

type apartDocument struct {
	RMS      float64 `json:"rms"`
	Max      float64 `json:"most"`
	Mean     float64 `json:"mean"`
	Sentence string  `json:"sentence"`
}

func comparisonJSON(of [2]archive.Revision, differences []archive.Difference, o *outlinesApart) any {
	document := map[string]any{"first": revisionJSON(of[0]), "second": revisionJSON(of[1]), "differences": differences}
	if o != nil {
		document["as_laid"] = apartDocument{o.AsLaid.RMS, o.AsLaid.Max, o.AsLaid.Mean, o.asLaid}
		document["best_fit"] = apartDocument{o.BestFit.RMS, o.BestFit.Max, o.BestFit.Mean, o.bestFit}
	}
	return document
}

func printComparison(env Environment, differences []archive.Difference, o *outlinesApart) {
	if len(differences) == 0 {
		fmt.Fprintln(env.Out, "Words, sizes and files are the same.")
	} else {
		columns := []column{{"", 20, false}, {"first", 28, false}, {"second", 28, false}}
		var rows [][]string
		for _, d := range differences {
			rows = append(rows, []string{d.What, d.Before, d.After})
		}
		fmt.Fprint(env.Out, listing(columns, rows))
	}
	if o == nil {
		fmt.Fprintln(env.Out, "Outlines: one of the two was kept without its shape.")
		return
	}
	fmt.Fprintf(env.Out, "Outlines, backs on each other: %s\n", o.asLaid)
	fmt.Fprintf(env.Out, "Outlines, as they fit best: %s\n", o.bestFit)
}
