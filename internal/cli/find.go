package cli

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"fairedge/internal/archive"
	"fairedge/internal/curve"
	"fairedge/internal/job"
	"fairedge/internal/likeness"
	"fairedge/internal/problem"
	"fairedge/internal/shapefile"

	"github.com/spf13/cobra"
)

type findFlags struct {
	archiveFlags
	from, to, like string
	limit          int
	scale, csv     bool
}

func newFindCommand(env Environment) *cobra.Command {
	var flags findFlags
	cmd := &cobra.Command{
		Use:   "find [WORDS...]",
		Short: "Find a job by any word, number, date or shape",
		Long: `Lists the jobs in whose words or notes all WORDS stand, in any order and any
script; parts of words are enough, and capitals and accents do not matter. A number
finds the job of that number, a date (2023-05) the jobs of that time. Without WORDS
all jobs are listed, the latest saved first.

With --like the jobs are listed whose outline is most like that of a file: a
measurement.json, a shape file or a drawing. Outlines may lie turned or turned over.

With --csv the list comes for spreadsheets, with all jobs that are found (RFC 4180,
UTF-8). Words that begin like a formula (= + - @) get an apostrophe before them.`,
		Example: `  fairedge find norgaard
  fairedge find oak 2023-05
  fairedge find --from 2023 --to 2024-06
  fairedge find --like new-chair/measurement.json
  fairedge find --from 2026 --csv > jobs.csv`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if flags.csv && !cmd.Flags().Changed("limit") {
				flags.limit = math.MaxInt
			}
			return runFind(cmd.Context(), env, args, flags)
		},
	}
	flags.register(cmd)
	cmd.Flags().StringVar(&flags.from, "from", "", "measured on this day or later, like 2023 or 2023-05-17")
	cmd.Flags().StringVar(&flags.to, "to", "", "measured on this day or earlier")
	cmd.Flags().StringVar(&flags.like, "like", "", "a file with the outline to look for")
	cmd.Flags().BoolVar(&flags.scale, "scale", false, "with --like: it may be larger or smaller, as from a photo without cards")
	cmd.Flags().BoolVar(&flags.csv, "csv", false, "print a list for spreadsheets instead of words")
	cmd.Flags().IntVar(&flags.limit, "limit", archive.DefaultLimit, "list at most so many")
	return cmd
}

var dayPattern = regexp.MustCompile(`^\d{4}(-\d{2}(-\d{2})?)?$`)

func runFind(ctx context.Context, env Environment, words []string, flags findFlags) error {
	for name, day := range map[string]string{"--from": flags.from, "--to": flags.to} {
		if day != "" && !dayPattern.MatchString(day) {
			return problem.Newf(problem.Usage, "write it like 2023, 2023-05 or 2023-05-17", "%s %q is no date", name, day)
		}
	}
	if flags.limit < 1 {
		return problem.New(problem.Usage, "--limit must be at least 1", "leave it out for 50")
	}
	if flags.csv && flags.json {
		return problem.New(problem.Usage, "--csv and --json are two forms of one answer", "choose one")
	}
	if flags.like != "" {
		return runLike(ctx, env, flags)
	}
	return flags.reading(ctx, env, func(a *archive.Archive) error {
		found, err := a.Find(ctx, archive.Query{Words: strings.Join(words, " "), From: flags.from, To: flags.to, Limit: flags.limit})
		if err != nil {
			return err
		}
		return printFound(env, found, flags)
	})
}

func printFound(env Environment, found archive.Found, flags findFlags) error {
	if flags.json {
		return writeJSON(env.Out, map[string]any{"total": found.Total, "jobs": revisionsJSON(found.Jobs)})
	}
	if flags.csv {
		rows := [][]string{csvHeads()}
		for _, r := range found.Jobs {
			rows = append(rows, csvRow(r))
		}
		return writeCSV(env.Out, rows)
	}
	if found.Total == 0 {
		fmt.Fprintln(env.Out, "No job has all these words. Fewer or shorter words find more.")
		return nil
	}
	rows := make([][]string, len(found.Jobs))
	for i, r := range found.Jobs {
		rows[i] = jobRow(r)
	}
	fmt.Fprint(env.Out, listing(jobColumns(), rows))
	if found.Total > len(found.Jobs) {
		fmt.Fprintf(env.Out, "and %d more: add a word, or --limit %d\n", found.Total-len(found.Jobs), found.Total)
	}
	return nil
}

// likeDocument is one answer of --like in JSON.
type likeDocument struct {
	jobDocument
	RMS     float64 `json:"apart_rms"`
	Max     float64 `json:"apart_most"`
	Flipped bool    `json:"turned_over"`
	Scale   float64 `json:"scale"`
}

func runLike(ctx context.Context, env Environment, flags findFlags) error {
	net, err := outlineIn(flags.like)
	if err != nil {
		return err
	}
	return flags.reading(ctx, env, func(a *archive.Archive) error {
		found, err := alike(ctx, a, net, flags)
		if err != nil {
			return err
		}
		var documents []likeDocument
		var rows [][]string
		list := [][]string{append(csvHeads(), "apart_rms_mm", "apart_most_mm")}
		for _, f := range found {
			r, err := a.Get(ctx, int(f.ID), archive.Newest)
			if err != nil {
				return err
			}
			documents = append(documents, likeDocument{revisionJSON(r), f.RMS, f.Max, f.FixedFromMoved.Flipped, f.FixedFromMoved.Scale})
			list = append(list, append(csvRow(r), csvNumber(&f.RMS), csvNumber(&f.Max)))
			row := jobRow(r)
			rows = append(rows, []string{row[0], row[1], row[2], row[3], fmt.Sprintf("%.1f", f.Max)})
		}
		if flags.csv {
			return writeCSV(env.Out, list)
		}
		if flags.json {
			return writeJSON(env.Out, map[string]any{"jobs": documents})
		}
		if len(rows) == 0 {
			fmt.Fprintln(env.Out, "No job in the archive has an outline.")
			return nil
		}
		columns := jobColumns()
		columns[4] = column{"mm apart", 9, true}
		fmt.Fprint(env.Out, listing(columns, rows))
		fmt.Fprintln(env.Out, nearestSentence(documents[0]))
		return nil
	})
}

// nearestSentence says which chair it is, as far as the distance tells.
func nearestSentence(d likeDocument) string {
	chair := fmt.Sprintf("job %d", d.Job)
	if d.SetOf > 0 && d.Which > 0 {
		chair = fmt.Sprintf("chair %d of the set of %d of job %d", d.Which, d.SetOf, d.Job)
	}
	if d.MadeOn != "" {
		chair += " from " + d.MadeOn
	}
	turned := ""
	if d.Flipped {
		turned = ", turned over"
	}
	return fmt.Sprintf("Most like it is %s, %.1f mm apart on the average and %.1f mm at most%s.", chair, d.RMS, d.Max, turned)
}

// outlineIn reads the outline of a file.
func outlineIn(path string) (curve.Path, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return curve.Path{}, cannotRead(path, err)
	}
	d, _, err := job.ShapeFrom(data, shapefile.ImportOptions{})
	if err != nil {
		return curve.Path{}, fmt.Errorf("reading %s: %w", filepath.ToSlash(path), err)
	}
	return d.Shape.Net, nil
}

// mostAlike is how many of the nearest by signature are measured exactly.
const mostAlike = 10

// alike finds the newest outlines most like one.
func alike(ctx context.Context, a *archive.Archive, net curve.Path, flags findFlags) ([]likeness.Found, error) {
	query, err := likeness.SignatureOf(net)
	if err != nil {
		return nil, err
	}
	index, err := indexOf(ctx, a)
	if err != nil {
		return nil, err
	}
	options := likeness.Options{Flip: true, Scale: flags.scale}
	matches := index.Nearest(query, min(flags.limit, mostAlike), options)
	return likeness.Refine(net, matches, func(id int64) (curve.Path, error) {
		s, err := shapeOf(ctx, a, archive.Saved{Job: int(id)})
		return s.Net, err
	}, options)
}

// indexOf collects the signatures of all kept outlines; those that have none yet get
// one for this search.
func indexOf(ctx context.Context, a *archive.Archive) (*likeness.Index, error) {
	var index likeness.Index
	var broken error
	err := a.Signatures(ctx, signatureScheme, func(s archive.Signature) bool {
		var signature likeness.Signature
		if broken = signature.UnmarshalBinary(s.Bytes); broken != nil {
			return false
		}
		index.Add(int64(s.Job), signature)
		return true
	})
	if err != nil || broken != nil {
		return nil, cmp.Or(err, broken)
	}
	unsigned, err := a.Unsigned(ctx, signatureScheme)
	if err != nil {
		return nil, err
	}
	for _, u := range unsigned {
		s, err := shapeOf(ctx, a, u)
		if err != nil {
			return nil, err
		}
		signature, err := likeness.SignatureOf(s.Net)
		if err != nil {
			return nil, err
		}
		index.Add(int64(u.Job), signature)
	}
	return &index, nil
}
