package cli

import (
	"context"
	"fmt"
	"path/filepath"

	"fairedge/internal/archive"
	"fairedge/internal/job"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"
	"fairedge/internal/shapefile"
)

// isChanged reports whether the pieces are wanted otherwise than they were kept.
func (f againFlags) isChanged() bool { return len(f.set) > 0 || f.recipe != "" }

// writeChanged makes the pad of a kept seat anew, by the kept recipe with changes or by
// another, and says what came out otherwise.
func writeChanged(ctx context.Context, env Environment, a *archive.Archive, of archive.Saved, flags againFlags) error {
	r, err := a.Get(ctx, of.Job, of.Revision)
	if err != nil {
		return err
	}
	seat, seatFile, err := keptSeat(ctx, a, r)
	if err != nil {
		return err
	}
	before, after, err := flags.recipes(ctx, a, r)
	if err != nil {
		return err
	}
	result, said, err := flags.remake(env, seat, r, before, after)
	if err != nil {
		return err
	}
	if err := safefile.WriteSet(flags.out, append(result.Files, seatFile), existing(flags.force)); err != nil {
		return err
	}
	if !a.IsReadOnly() {
		if err := a.Record(ctx, r.Saved, "pad made again, changed"); err != nil {
			return err
		}
	}
	if flags.json {
		return printPadJSON(env, result)
	}
	printPad(env, flags.out, result)
	fmt.Fprintf(env.Out, "\nOtherwise than job %d, revision %d:\n", r.Job, r.Saved.Revision)
	for _, sentence := range said {
		fmt.Fprintf(env.Out, "  %s\n", sentence)
	}
	fmt.Fprintf(env.Out, "Keep it with: fairedge keep %s --job %d\n", filepath.ToSlash(flags.out), r.Job)
	return nil
}

// keptPart returns the file of that role; ok is false when there is none.
func keptPart(ctx context.Context, a *archive.Archive, r archive.Revision, role archive.Role) (file safefile.File, ok bool, err error) {
	part, ok := r.Part(role, "")
	if !ok {
		return safefile.File{}, false, nil
	}
	data, err := a.Data(ctx, part)
	return safefile.File{Name: part.Name, Data: data}, err == nil, err
}

// keptSeat returns the shape of a job and the file that holds it: the measurement, which
// says how sure it is, or the shape alone.
func keptSeat(ctx context.Context, a *archive.Archive, r archive.Revision) (shapefile.Document, safefile.File, error) {
	for _, role := range []archive.Role{archive.RoleMeasurement, archive.RoleShape} {
		file, ok, err := keptPart(ctx, a, r, role)
		if err != nil {
			return shapefile.Document{}, file, err
		}
		if ok {
			d, _, err := job.ShapeFrom(file.Data, shapefile.ImportOptions{})
			return d, file, err
		}
	}
	return shapefile.Document{}, safefile.File{}, problem.Newf(problem.NotKept, "see fairedge history for a revision that has one", "job %d:%d has no outline", r.Job, r.Saved.Revision)
}

// recipes returns the recipe that the pad was made by, nil when none was kept, and the
// one wanted now.
func (f againFlags) recipes(ctx context.Context, a *archive.Archive, r archive.Revision) (before *pad.Recipe, after pad.Recipe, err error) {
	changes, err := changesOf(f.set)
	if err != nil {
		return nil, after, err
	}
	file, ok, err := keptPart(ctx, a, r, archive.RoleRecipe)
	if err != nil {
		return nil, after, err
	}
	if ok {
		kept, err := job.RecipeFrom(file.Name, file.Data, nil)
		if err != nil {
			return nil, after, err
		}
		before = &kept
	}
	if f.recipe == "" && ok {
		after, err = job.RecipeFrom(file.Name, file.Data, changes)
		return before, after, err
	}
	wanted := recipeFlags{recipe: f.recipe, set: f.set}
	if wanted.recipe == "" {
		wanted.recipe = "tie-on"
	}
	after, err = wanted.read()
	return before, after, err
}

// remake makes the files of the pad as it is wanted, and says how it differs from the one
// before.
func (f againFlags) remake(env Environment, seat shapefile.Document, r archive.Revision, before *pad.Recipe, after pad.Recipe) (job.PadResult, []string, error) {
	printing, err := f.pages.printing(env)
	if err != nil {
		return job.PadResult{}, nil, err
	}
	today, err := env.today()
	if err != nil {
		return job.PadResult{}, nil, err
	}
	choices := job.PadChoices{Pads: 1, Spare: pad.DefaultSpare(), Accuracy: job.ShapeAccuracy(seat)}
	made, err := job.PadFromShape(seat.Shape, after, choices)
	if err != nil {
		return job.PadResult{}, nil, err
	}
	result, err := job.PadFiles(made, job.Label{Name: r.Title, Date: today, Program: "fairedge " + Version}, printing)
	if err != nil || before == nil {
		return result, []string{"no recipe was kept, so this pad is its first."}, err
	}
	was, err := job.PadFromShape(seat.Shape, *before, choices)
	if err != nil {
		return result, nil, err
	}
	said := job.PadDifferences(was, made)
	if len(said) == 0 {
		said = []string{"nothing."}
	}
	return result, said, nil
}
