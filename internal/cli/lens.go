package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"

	"fairedge/internal/job"
	"fairedge/internal/lenslog"
	"fairedge/internal/photo"
	"fairedge/internal/printlog"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

type lensFlags struct {
	name, print   string
	list, json    bool
	maxMegapixels float64
}

func newLensCommand(env Environment) *cobra.Command {
	flags := lensFlags{}
	cmd := &cobra.Command{
		Use:   "lens PHOTO...",
		Short: "Learn a phone's lens from 6 to 15 photos of the cards",
		Long: `Learns the lens of one phone or camera from 6 to 15 photos of printed scale cards,
so that later photos of that camera are measured more exactly. It is done once.

Lay the cards on a flat table. Take photos from all sides, about half of them with
the phone leaning by some 30 degrees, some held upright and some flat. Come close:
over all photos together, the cards should have been in every corner of the
picture. No zoom, no cropping, and the picture size that you always use.

The profile is kept under make, model and focal length, and "fairedge cut" uses the
newest that fits by itself. Photos whose file does not name the camera (sent by a
messenger, say) need --name here and "fairedge cut --lens NAME" later.`,
		Example: `  fairedge lens cards-*.jpg
  fairedge lens --name "old phone" a.jpg b.jpg c.jpg d.jpg e.jpg f.jpg g.jpg h.jpg
  fairedge lens --list`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if flags.list {
				return listLenses(env, args)
			}
			return learnLens(cmd.Context(), env, args, flags)
		},
	}
	f := cmd.Flags()
	f.StringVar(&flags.name, "name", "", "name of the profile, for fairedge cut --lens NAME")
	f.StringVar(&flags.print, "print", "", "use the print record of this name (default: the newest)")
	f.BoolVar(&flags.list, "list", false, "show the profiles that there are")
	f.BoolVar(&flags.json, "json", false, "print everything that was learnt as JSON instead of words")
	f.Float64Var(&flags.maxMegapixels, "max-megapixels", 200, "refuse larger pictures")
	return cmd
}

func learnLens(ctx context.Context, env Environment, paths []string, flags lensFlags) error {
	folder, err := env.dataFolder()
	if err != nil {
		return err
	}
	request, err := flags.request(env, folder)
	if err != nil {
		return err
	}
	if _, err := lenslog.Read(folder); err != nil { // before the work, not after it
		return err
	}
	watch := newStageWatcher(env, "")
	learnt, err := job.LearnLens(ctx, paths, request, watch)
	watch.end()
	if err != nil {
		return err
	}
	record := lenslog.RecordOf(learnt.Profile, learnt.Learned)
	if err := lenslog.Add(folder, record); err != nil {
		return err
	}
	if flags.json {
		return printLensJSON(env.Out, record, learnt)
	}
	printLens(env.Out, learnt)
	return nil
}

func (f lensFlags) request(env Environment, folder string) (job.LensRequest, error) {
	r := job.LensRequest{Limits: photo.DefaultLimits(), Name: f.name}
	if f.name == job.NoLens {
		return r, problem.New(problem.Usage, `a profile cannot be named "none"`, "choose another name")
	}
	var err error
	if r.Limits.MaxPixels, err = maxPixels(f.maxMegapixels); err != nil {
		return r, err
	}
	records, err := printlog.Read(folder)
	if err != nil {
		return r, err
	}
	if r.Prints, err = printlog.Latest(records, f.print); err != nil {
		return r, err
	}
	r.Date, err = env.today()
	return r, err
}

// printLens tells a person what was learnt, each figure with twice its standard
// uncertainty (19 of 20).
func printLens(w io.Writer, learnt job.LensLearnt) {
	l := learnt.Learned
	u, reach := l.Uncertainty, l.Reach
	fmt.Fprintf(w, "Learnt the lens %q from %d photos and %d card marks; later photos of it use this.\n",
		learnt.Profile.Title(), len(l.Photos), l.Marks)
	fmt.Fprintf(w, "The marks miss their places by %.2f px rms; %d were set aside.\n", l.RMS, l.Blunders)
	fmt.Fprintf(w, "Cards seen in %d of 9 parts of the picture; %d photos tilted, up to %.0f degrees.\n\n",
		reach.Seen, reach.Tilted, reach.GreatestTilt*180/math.Pi)
	fmt.Fprintf(w, "  focal length     %8.1f px  ± %.1f px (and ± %.2f %% from photo to photo)\n", l.Lens.F, 2*u.Focal*l.Lens.F, 200*l.Moves.Focal)
	fmt.Fprintf(w, "  middle           %8.1f px  ± %.1f px across (and ± %.0f px from photo to photo)\n", l.Lens.Centre.X, 2*u.CentreX, 2*l.Moves.Centre)
	fmt.Fprintf(w, "                   %8.1f px  ± %.1f px down\n", l.Lens.Centre.Y, 2*u.CentreY)
	fmt.Fprintf(w, "  distortion k1    %8.5f     ± %.5f\n", l.Lens.K1, 2*u.K1)
	fmt.Fprintf(w, "             k2    %8.5f     ± %.5f\n", l.Lens.K2, 2*u.K2)
	fmt.Fprintf(w, "  decentring p1    %8.5f     ± %.5f\n", l.Lens.P1, 2*u.P1)
	fmt.Fprintf(w, "             p2    %8.5f     ± %.5f\n", l.Lens.P2, 2*u.P2)
	for _, s := range learnt.Skipped {
		fmt.Fprintf(w, "Note: %s was not used: %v.\n", s.Path, s.Why)
	}
	for _, p := range l.Photos {
		if p.Noise > noisyPhoto {
			fmt.Fprintf(w, "Note: the marks in %s scatter %.1f times more than they should: was a card bent or out of focus?\n", p.Name, p.Noise)
		}
	}
}

// noisyPhoto: a photo whose marks scatter so many times more than they should is
// named. It counts less by itself; below 2 there is nothing to be done about it.
const noisyPhoto = 2

// lensDocument is the machine-readable form: the stored record and each photo's part.
type lensDocument struct {
	Format     int             `json:"format"`
	Lens       lenslog.Record  `json:"lens"`
	Parts      [3][3]int       `json:"marks_in_ninths"`
	PhotosUsed []lensPhotoJSON `json:"photos_used"`
	Skipped    []skippedJSON   `json:"photos_skipped"`
}

type lensPhotoJSON struct {
	Photo       string     `json:"photo"`
	Marks       int        `json:"marks"`
	RMSPx       float64    `json:"residual_rms_px"`
	TiltDegrees float64    `json:"tilt_degrees"`
	FocalShare  float64    `json:"focal_share_moved"`
	CentrePx    [2]float64 `json:"principal_point_px_moved"`
}

type skippedJSON struct {
	Photo string `json:"photo"`
	Why   string `json:"why"`
}

func printLensJSON(w io.Writer, record lenslog.Record, learnt job.LensLearnt) error {
	document := lensDocument{Format: 1, Lens: record, Parts: learnt.Learned.Reach.Cells, Skipped: []skippedJSON{}}
	for _, p := range learnt.Learned.Photos {
		document.PhotosUsed = append(document.PhotosUsed, lensPhotoJSON{
			p.Name, p.Marks, p.RMS, p.Tilt * 180 / math.Pi, p.FocalMove, p.CentreMove})
	}
	for _, s := range learnt.Skipped {
		document.Skipped = append(document.Skipped, skippedJSON{s.Path, s.Why.Error()})
	}
	return writeJSON(w, document)
}

func listLenses(env Environment, args []string) error {
	if len(args) > 0 {
		return problem.New(problem.Usage, "--list takes no photos", "leave one of them away")
	}
	folder, err := env.dataFolder()
	if err != nil {
		return err
	}
	records, err := lenslog.Read(folder)
	if err != nil {
		return err
	}
	if len(records) == 0 {
		fmt.Fprintln(env.Out, "No lens has been learnt yet: see fairedge lens --help.")
	}
	for _, r := range records {
		fmt.Fprintf(env.Out, "%s  %s (%d x %d pixels, %d photos, %.2f px rms)\n",
			r.Learned.Format("2006-01-02"), r.Profile().Title(), r.WidthPx, r.HeightPx, r.Photos, r.RMSPx)
	}
	return nil
}

// writeJSON writes a value, indented.
func writeJSON(w io.Writer, value any) error {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetIndent("", " ")
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(value); err != nil {
		return fmt.Errorf("writing the report: %w", err)
	}
	_, err := w.Write(out.Bytes())
	return err
}
