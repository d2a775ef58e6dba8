package cli

import (
	"context"
	"fmt"
	"math"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/likeness"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"

	"github.com/spf13/cobra"
)

// fitsFlags are the flags of "fairedge fits" as typed.
type fitsFlags struct {
	within               lengthFlag
	flip, json, force    bool
	mean, envelope, core string
}

func newFitsCommand(env Environment) *cobra.Command {
	flags := fitsFlags{within: lengthFlag{Length: 3 * length.Millimetre}}
	cmd := &cobra.Command{
		Use:   "fits SHAPE... --within LENGTH",
		Short: "Say which chairs of a set can share a template",
		Long: `Lays each two outlines on each other so that they are nearest, and says which one
fits the most chairs within the distance, and how few templates serve them all. Each
template is the outline of one of the chairs.

Can also write one outline for the whole set: the smallest that covers all of them
(--envelope), the largest that lies inside all (--core), or half-way (--mean).`,
		Example: `  fairedge fits chair-*.json --within 3mm
  fairedge fits chair-*.json --within 1/8in --flip --envelope set.json`,
		Args: atLeast(2, "shapes"),
		RunE: func(cmd *cobra.Command, args []string) error { return runFits(cmd.Context(), env, args, flags) },
	}
	f := cmd.Flags()
	f.Var(&flags.within, "within", "how far a template may lie from a chair's outline")
	f.BoolVar(&flags.flip, "flip", false, "a template may be turned over")
	f.BoolVar(&flags.json, "json", false, "print everything as JSON, in mm")
	f.BoolVar(&flags.force, "force", false, "replace files that are already there")
	f.StringVar(&flags.mean, "mean", "", "file for the mean outline of the set, .json or .svg")
	f.StringVar(&flags.envelope, "envelope", "", "file for the smallest outline that covers all")
	f.StringVar(&flags.core, "core", "", "file for the largest outline that lies inside all")
	return cmd
}

// mostChairs bounds the set: the pairs grow with its square.
const mostChairs = 200

func runFits(ctx context.Context, env Environment, args []string, flags fitsFlags) error {
	if !(flags.within.Length > 0 && flags.within.Length <= 100*length.Millimetre) {
		return problem.Newf(problem.Usage, "use up to 100 mm", "--within cannot be %s", flags.within.Length)
	}
	if len(args) > mostChairs {
		return problem.Newf(problem.Usage, "compare them in parts", "%d chairs are more than %d", len(args), mostChairs)
	}
	documents, err := readShapes(args)
	if err != nil {
		return err
	}
	nets := make([]curve.Path, len(documents))
	for i, d := range documents {
		nets[i] = d.Shape.Net
	}
	o := likeness.Options{Flip: flags.flip}
	pairs, err := likeness.PairUp(nets, flags.within.Length.Millimetres(), o, watchPairs(ctx, env))
	if env.IsTerminal {
		fmt.Fprint(env.Err, "\r\x1b[K") // clear the line of watchPairs
	}
	if err != nil {
		return err
	}
	report := fitsReportOf(documents, pairs, flags.within.Length)
	if err := flags.writeGroup(env, nets, o, &report); err != nil {
		return err
	}
	if flags.json {
		return writeJSON(env.Out, report)
	}
	printFits(env, report, flags.within.Length)
	return nil
}

// watchPairs shows on a terminal how far the comparing has come, and stops when the person
// wants it.
func watchPairs(ctx context.Context, env Environment) func(done, all int) error {
	return func(done, all int) error {
		if err := ctx.Err(); err != nil {
			return problem.New(problem.Cancelled, "stopped while comparing the chairs", "nothing was written").Because(err)
		}
		if env.IsTerminal && all > 20 {
			fmt.Fprintf(env.Err, "\rcomparing the chairs: %3d %%", 100*done/all)
		}
		return nil
	}
}

// fitsReport is the answer in plain values, mm.
type fitsReport struct {
	Within    float64          `json:"within"`
	Chairs    []string         `json:"chairs"`
	Best      templateReport   `json:"best_single_template"`
	Templates []templateReport `json:"fewest_templates"`
	AtLeast   int              `json:"at_least"`
	Group     *groupReport     `json:"set,omitempty"`
}

type templateReport struct {
	Template string        `json:"template"`
	Fits     []chairReport `json:"fits"`
}

type chairReport struct {
	Chair   string  `json:"chair"`
	Max     float64 `json:"max"`
	RMS     float64 `json:"rms"`
	Flipped bool    `json:"template_turned_over,omitempty"`
}

type groupReport struct {
	Spread float64  `json:"spread"`
	Excess float64  `json:"excess"`
	Files  []string `json:"files"`
}

func fitsReportOf(documents []shapefile.Document, pairs *likeness.Pairs, within length.Length) fitsReport {
	r := fitsReport{Within: within.Millimetres()}
	for _, d := range documents {
		r.Chairs = append(r.Chairs, d.Name)
	}
	template := func(t likeness.Template) templateReport {
		out := templateReport{Template: r.Chairs[t.Outline]}
		for _, f := range t.Fits {
			out.Fits = append(out.Fits, chairReport{r.Chairs[f.Chair], to4(f.Max), to4(f.RMS), f.Flipped})
		}
		return out
	}
	r.Best = template(pairs.Best())
	cover := pairs.Fewest()
	r.AtLeast = cover.AtLeast
	for _, t := range cover.Templates {
		r.Templates = append(r.Templates, template(t))
	}
	return r
}

func printFits(env Environment, r fitsReport, within length.Length) {
	fmt.Fprintf(env.Out, "One template, that of %s, fits %d of %d chairs within %s.\n", r.Best.Template, len(r.Best.Fits), len(r.Chairs), within)
	if n := len(r.Templates); n == 1 {
		fmt.Fprintln(env.Out, "It serves them all:")
	} else {
		sure := "no fewer do"
		if r.AtLeast < n {
			sure = fmt.Sprintf("at least %d are needed", r.AtLeast)
		}
		fmt.Fprintf(env.Out, "%d templates serve them all; %s:\n", n, sure)
	}
	for _, t := range r.Templates {
		fmt.Fprintf(env.Out, "  %s\n", t.Template)
		for _, f := range t.Fits {
			if f.Chair == t.Template && f.Max == 0 {
				continue
			}
			over := ""
			if f.Flipped {
				over = ", turned over"
			}
			fmt.Fprintf(env.Out, "    fits %s within %.1f mm%s\n", f.Chair, f.Max, over)
		}
	}
	if r.Group != nil {
		fmt.Fprintf(env.Out, "The chairs differ by up to %.1f mm. Wrote %s.\n", r.Group.Spread, strings.Join(r.Group.Files, ", "))
	}
}

// writeGroup writes the outlines for the whole set that were asked for.
func (f fitsFlags) writeGroup(env Environment, nets []curve.Path, o likeness.Options, report *fitsReport) error {
	if f.mean == "" && f.envelope == "" && f.core == "" {
		return nil
	}
	g, err := likeness.GroupOf(nets, o)
	if err != nil {
		return problem.New(problem.PoorFit, err.Error(), "leave it out, or write no outline for the set")
	}
	today, err := env.today()
	if err != nil {
		return err
	}
	report.Group = &groupReport{Spread: to4(g.Spread), Excess: to4(g.Excess)}
	for _, want := range []struct {
		path, what string
		net        curve.Path
	}{{f.mean, "mean outline", g.Mean}, {f.envelope, "smallest outline that covers all", g.Envelope}, {f.core, "largest outline inside all", g.Core}} {
		if want.path == "" {
			continue
		}
		s, err := shape.FromOutline(want.net, want.net.Corners(20*math.Pi/180), nil, shape.BackHint{Said: plane.Vec{Y: 1}})
		if err != nil {
			return fmt.Errorf("making the %s: %w", want.what, err)
		}
		d := shapefile.Document{Shape: s, Date: today, Program: "fairedge " + Version, Provenance: fmt.Sprintf("%s of %d chairs: %s", want.what, len(nets), strings.Join(report.Chairs, ", "))}
		data, err := encodeFor(want.path, d)
		if err != nil {
			return err
		}
		if err := safefile.WriteFile(want.path, data, existing(f.force)); err != nil {
			return err
		}
		report.Group.Files = append(report.Group.Files, want.path)
	}
	return nil
}
