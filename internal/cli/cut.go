package cli

import (
	"fmt"
	"strconv"
	"strings"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/detect"
	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/lenslog"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/printlog"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

// cutFlags are the flags of "fairedge cut" as typed.
type cutFlags struct {
	out, name, debug         string
	force, json              bool
	kind, side, inside, back string
	corner, print            string
	lens                     string
	allowance, hem, oversize lengthFlag
	height                   lengthFlag
	maxMegapixels            float64
	accuracy                 accuracyFlags
	pages                    pageFlags
	pad                      recipeFlags // of no recipe: make no pad
}

func newCutCommand(env Environment) *cobra.Command {
	flags := cutFlags{allowance: lengthFlag{Length: job.DefaultPattern().Allowance}}
	cmd := &cobra.Command{
		Use:   "cut PHOTO [PHOTO...] --out DIR",
		Short: "Measure the template in one photo or several and write the outlines to cut",
		Long: `Finds the scale cards and the template's edge in the photo, measures the edge and
writes into DIR, all at true scale:

  foam-outline.svg .pdf         cut the foam exactly on it
  fabric-outline.svg .pdf       cut line of the fabric plate: foam outline + allowance
  second-plate.svg .pdf         the other plate, mirrored
  outlines.svg .pdf             both lines on one sheet
  outlines.dxf                  all pieces for a cutting machine, in mm
  outlines.plt                  the same for a plotter that takes HPGL
  print-pages.pdf               the same on pages to tape together (A4 or Letter)
  check.jpg                     the photo with what was found: look at it first
  straightened.jpg              the same seen square on
  edge-samples.json             the edge as it was measured, before fairing

It says how sure the outline is and what would make it better: --budget shows where
the uncertainty comes from, --taped brings in a size that you taped, --ask names the
accuracy you need.

Several photos of one template are measured each by itself and averaged; one that does
not agree with the others is named and left out.

Lengths are read in mm or inches: 19.05mm, 1.9cm, 3/4in, "1 3/8in".`,
		Example: `  fairedge cut photo.jpg --out alder-chair
  fairedge cut photo.heic --out pad --allowance 5/8in --hem 1/2in --edge inner
  fairedge cut photo.jpg --out pad --inside 2010,1480 --back bottom
  fairedge cut photo.jpg --out pad --taped width=415mm --budget --ask 1mm
  fairedge cut one.jpg two.jpg three.jpg --out pad`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error { return runCut(cmd.Context(), env, args, flags) },
	}
	f := cmd.Flags()
	f.StringVar(&flags.out, "out", "", "folder for the results; made if it is missing")
	f.StringVar(&flags.name, "name", "", "name of the job, printed on every sheet")
	f.BoolVar(&flags.force, "force", false, "replace results that are already in the folder")
	f.BoolVar(&flags.json, "json", false, "print everything that was measured as JSON instead of words")
	f.StringVar(&flags.debug, "debug", "", "folder for a picture of every stage")
	f.Var(&flags.allowance, "allowance", "fabric beyond the template, all round")
	f.Var(&flags.hem, "hem", "another allowance at the back edge (say 1/2in)")
	f.Var(&flags.oversize, "oversize", "foam larger than the template, all round")
	f.StringVar(&flags.corner, "corner", "mitre", "corners of the fabric: mitre, round or trimmed")
	f.StringVar(&flags.side, "edge", "centre", "which side of a drawn line is the edge: centre, inner or outer")
	f.StringVar(&flags.kind, "template", "auto", "how the template shows its edge: auto, line, cut, or open (line from a straight sheet edge)")
	f.StringVar(&flags.inside, "inside", "", "a point inside the wanted outline, as x,y in pixels of the upright photo")
	f.StringVar(&flags.back, "back", "", "which way the back faces in the photo: top, bottom, left or right")
	f.Var(&flags.height, "template-height", "how far the template lies above the cards (say 25mm on its foam)")
	f.StringVar(&flags.print, "print", "", "use the print record of this name (default: the newest)")
	f.StringVar(&flags.lens, "lens", "", "use the lens profile of this name, or none (default: the newest of this camera)")
	flags.pages.register(cmd)
	f.StringVar(&flags.pad.recipe, "pad", "", "also make a pad by this recipe: a built-in one (see fairedge recipes) or a file; see fairedge pad --help")
	flags.pad.register(cmd)
	f.Float64Var(&flags.maxMegapixels, "max-megapixels", 200, "refuse larger pictures")
	flags.accuracy.add(cmd)
	return cmd
}

// reading turns the flags into how to read the photo.
func (f cutFlags) reading(env Environment) (job.Reading, error) {
	r := job.Reading{Limits: photo.DefaultLimits(), TemplateHeight: f.height.Length, Back: job.Direction(strings.ToLower(f.back))}
	var err error
	if r.Limits.MaxPixels, err = maxPixels(f.maxMegapixels); err != nil {
		return r, err
	}
	if r.Kind, err = choice("--template", f.kind, map[string]detect.EdgeKind{
		"auto": detect.Auto, "line": detect.Line, "cut": detect.Cut, "open": detect.OpenLine}); err != nil {
		return r, err
	}
	if r.Side, err = choice("--edge", f.side, map[string]measure.Side{
		"centre": measure.Centre, "center": measure.Centre, "inner": measure.Inner, "outer": measure.Outer}); err != nil {
		return r, err
	}
	if _, err = choice("--back", string(r.Back), map[string]bool{"": true, "top": true, "bottom": true, "left": true, "right": true}); err != nil {
		return r, err
	}
	if r.Inside, err = pointOf(f.inside); err != nil {
		return r, err
	}
	if err = f.accuracy.into(&r); err != nil {
		return r, err
	}
	if r.Prints, err = f.prints(env); err != nil {
		return r, err
	}
	r.Lens = f.lens
	r.Profiles, err = f.profiles(env)
	return r, err
}

func maxPixels(megapixels float64) (int, error) {
	if !(megapixels >= 1 && megapixels <= 2000) {
		return 0, problem.Newf(problem.Usage, "use a number from 1 to 2000", "--max-megapixels cannot be %g", megapixels)
	}
	return int(megapixels * 1e6), nil
}

func (f cutFlags) profiles(env Environment) ([]measure.LensProfile, error) {
	if f.lens == job.NoLens {
		return nil, nil
	}
	folder, err := env.dataFolder()
	if err != nil {
		return nil, err
	}
	records, err := lenslog.Read(folder)
	return lenslog.Profiles(records), err
}

func (f cutFlags) prints(env Environment) ([]card.Print, error) {
	folder, err := env.dataFolder()
	if err != nil {
		return nil, err
	}
	records, err := printlog.Read(folder)
	if err != nil {
		return nil, err
	}
	return printlog.Latest(records, f.print)
}

// greatestAllowance bounds what is plainly a slip of the keyboard: no seat pad has
// 200 mm of allowance.
const greatestAllowance = 200 * length.Millimetre

// pattern turns the flags into what to make of the shape.
func (f cutFlags) pattern() (job.Pattern, error) {
	p := job.Pattern{Allowance: f.allowance.Length, Oversize: f.oversize.Length}
	if f.hem.Given {
		p.Hem = &f.hem.Length
	}
	for name, l := range map[string]length.Length{"--allowance": p.Allowance, "--hem": f.hem.Length, "--oversize": p.Oversize} {
		if l.Abs() > greatestAllowance {
			return p, problem.Newf(problem.Usage, "use up to 200 mm (7 7/8 in), with its unit", "%s %s is more than any pad has", name, l)
		}
	}
	var err error
	p.Corner, err = choice("--corner", f.corner, map[string]curve.Join{
		"mitre": curve.JoinMitre, "miter": curve.JoinMitre, "round": curve.JoinRound, "trimmed": curve.JoinTrimmed})
	return p, err
}

// choice returns what the word stands for, or a usage error that lists the words.
func choice[T any](flag, word string, meanings map[string]T) (T, error) {
	meaning, known := meanings[strings.ToLower(word)]
	if !known {
		return meaning, problem.Newf(problem.Usage, "run the command with --help for the words it knows", "%s cannot be %q", flag, word)
	}
	return meaning, nil
}

// pointOf reads "x,y" in pixels; nothing gives nil.
func pointOf(text string) (*photo.Point, error) {
	if text == "" {
		return nil, nil
	}
	x, y, found := strings.Cut(text, ",")
	px, err1 := strconv.ParseFloat(strings.TrimSpace(x), 64)
	py, err2 := strconv.ParseFloat(strings.TrimSpace(y), 64)
	if !found || err1 != nil || err2 != nil {
		return nil, problem.New(problem.Usage, fmt.Sprintf("--inside %q is not a point", text), "write it like 2010,1480")
	}
	return &photo.Point{X: px, Y: py}, nil
}
