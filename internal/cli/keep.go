package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fairedge/internal/archive"
	"fairedge/internal/job"
	"fairedge/internal/likeness"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
	"fairedge/internal/shapefile"

	"github.com/spf13/cobra"
)

// wordFlags are what a person says of a job.
type wordFlags struct {
	title, customer, contact, place, chair, date string
	set, which                                   int
}

func (f *wordFlags) register(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.title, "title", "", "title of the job (default: the name it was cut under)")
	flags.StringVar(&f.customer, "customer", "", "the customer's name")
	flags.StringVar(&f.contact, "contact", "", "telephone, mail or address")
	flags.StringVar(&f.place, "place", "", "where the chair stands")
	flags.StringVar(&f.chair, "chair", "", "what chair it is")
	flags.IntVar(&f.set, "set", 0, "how many chairs are alike")
	flags.IntVar(&f.which, "which", 0, "which of them this is")
	flags.StringVar(&f.date, "date", "", "day of the measurement, like 2026-01-31 (default: as measured)")
}

// apply puts what was said into the entry; what was not said stays.
func (f wordFlags) apply(cmd *cobra.Command, e *archive.Entry) error {
	for name, field := range map[string]struct {
		said string
		into *string
	}{
		"title": {f.title, &e.Title}, "customer": {f.customer, &e.Customer}, "contact": {f.contact, &e.Contact},
		"place": {f.place, &e.Place}, "chair": {f.chair, &e.Chair},
	} {
		if cmd.Flags().Changed(name) {
			*field.into = strings.TrimSpace(field.said)
		}
	}
	if cmd.Flags().Changed("set") {
		e.SetOf = f.set
	}
	if cmd.Flags().Changed("which") {
		e.Which = f.which
	}
	if f.date == "" {
		return nil
	}
	day, err := time.Parse("2006-01-02", f.date)
	if err != nil {
		return problem.New(problem.Usage, fmt.Sprintf("--date %q is no day", f.date), "write it like 2026-01-31")
	}
	e.MadeOn = day
	return nil
}

type keepFlags struct {
	archiveFlags
	words       wordFlags
	note, photo string
	job         int
}

func newKeepCommand(env Environment) *cobra.Command {
	var flags keepFlags
	cmd := &cobra.Command{
		Use:   "keep DIR...",
		Short: "Keep a job in the archive, to cut it again years later",
		Long: `Keeps all files of a job's folders (of "fairedge cut" and, if you like, of "fairedge
pad") in the archive, with the words you will look for it by. Everything is in one
file that can be copied: photo, measurement with its uncertainty, outline, recipe,
drawings. Nothing in it is ever overwritten: with --job the folders become a new
revision of a job that is there.

Of a photo all private data go (place, time, names, serial numbers); only the lens
stays. "fairedge find" finds the job again, "fairedge again" writes its files.`,
		Example: `  fairedge keep alder-chair --customer "Zoë Nørgaard" --place "dining room" --chair "ladder-back, oak" --set 4 --which 2
  fairedge keep alder-chair alder-pad --customer Adler --photo IMG_2041.jpg --note "zip at the back"
  fairedge keep alder-chair-2 --job 12`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return problem.New(problem.Usage, "there is nothing to keep", "write it like: fairedge keep alder-chair --customer Adler")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return runKeep(cmd, env, args, flags) },
	}
	flags.register(cmd)
	flags.words.register(cmd)
	cmd.Flags().StringVar(&flags.note, "note", "", "a note")
	cmd.Flags().StringVar(&flags.photo, "photo", "", "the photo, kept without its private data")
	cmd.Flags().IntVar(&flags.job, "job", 0, "keep as a new revision of this job")
	return cmd
}

func runKeep(cmd *cobra.Command, env Environment, folders []string, flags keepFlags) error {
	entry, said, err := entryFromFolders(folders)
	if err != nil {
		return err
	}
	if flags.photo != "" {
		part, told, err := photoPart(flags.photo)
		if err != nil {
			return err
		}
		entry.Parts, said = append(entry.Parts, part), append(said, told...)
	}
	ctx := cmd.Context()
	return flags.keeping(ctx, env, func(a *archive.Archive) error {
		saved, err := flags.save(cmd, a, entry)
		if err != nil {
			return err
		}
		if err := sign(ctx, a, saved); err != nil {
			return err
		}
		r, err := a.Get(ctx, saved.Job, saved.Revision)
		if err != nil {
			return err
		}
		if flags.json {
			return writeJSON(env.Out, revisionJSON(r))
		}
		for _, line := range said {
			fmt.Fprintln(env.Out, line)
		}
		fmt.Fprintf(env.Out, "Kept as job %d, revision %d: %s in %s.\n", saved.Job, saved.Revision, counted(len(r.Parts), "document", "documents"), filepath.ToSlash(a.Path()))
		fmt.Fprintf(env.Out, "Cut it again with: fairedge again %d --out DIR\n", saved.Job)
		return nil
	})
}

// save keeps a new job, or a new revision whose words stay unless said anew.
func (f keepFlags) save(cmd *cobra.Command, a *archive.Archive, entry archive.Entry) (archive.Saved, error) {
	if f.job == 0 {
		if err := f.words.apply(cmd, &entry); err != nil {
			return archive.Saved{}, err
		}
		entry.Note = f.note
		return a.Keep(cmd.Context(), entry)
	}
	return a.Change(cmd.Context(), f.job, archive.Newest, func(e *archive.Entry) error {
		e.Parts, e.Sizes, e.MadeOn, e.Note = entry.Parts, entry.Sizes, entry.MadeOn, f.note
		return f.words.apply(cmd, e)
	})
}

// entryFromFolders reads what a job's folders hold.
func entryFromFolders(folders []string) (e archive.Entry, said []string, err error) {
	for _, folder := range folders {
		parts, told, err := partsOf(folder)
		if err != nil {
			return e, nil, err
		}
		said = append(said, told...)
		for _, p := range parts {
			i := slices.IndexFunc(e.Parts, func(q archive.Part) bool { return q.Role == p.Role && q.Name == p.Name })
			if i >= 0 && !bytes.Equal(e.Parts[i].Data, p.Data) {
				return e, nil, problem.Newf(problem.Usage, "keep them as two jobs, or rename one",
					"two of the folders have a different %s", p.Name)
			}
			if i < 0 {
				e.Parts = append(e.Parts, p)
			}
		}
	}
	return e, said, describe(&e, folders[0])
}

// mostFiles is more than any job has: beyond it a wrong folder was named.
const mostFiles = 200

// partsOf reads a folder's files, or one file.
func partsOf(path string) (parts []archive.Part, said []string, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, nil, cannotRead(path, err)
	}
	files := []string{path}
	if info.IsDir() {
		entries, err := os.ReadDir(path)
		if err != nil {
			return nil, nil, cannotRead(path, err)
		}
		files = nil
		for _, e := range entries { // in the order of their names
			if e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".") {
				files = append(files, filepath.Join(path, e.Name()))
			}
		}
	}
	if len(files) > mostFiles {
		return nil, nil, problem.Newf(problem.Usage, "name the folder of one job", "there are %d files in %s", len(files), path)
	}
	for _, file := range files {
		if roleOf(filepath.Base(file)) == archive.RolePhoto {
			part, told, err := photoPart(file)
			if err != nil {
				return nil, nil, err
			}
			parts, said = append(parts, part), append(said, told...)
			continue
		}
		data, err := os.ReadFile(file)
		if err != nil {
			return nil, nil, cannotRead(file, err)
		}
		parts = append(parts, archive.Part{Role: roleOf(filepath.Base(file)), Name: filepath.Base(file), Data: data})
	}
	return parts, said, nil
}

// roleOf tells what a file of a job's folder is by its name.
func roleOf(name string) archive.Role {
	switch name {
	case "measurement.json":
		return archive.RoleMeasurement
	case job.EdgeSamplesName:
		return archive.RoleSamples
	case "recipe.toml":
		return archive.RoleRecipe
	case "pad.json":
		return archive.RolePiece
	case "check.jpg", "straightened.jpg":
		return archive.RolePicture
	}
	switch strings.ToLower(filepath.Ext(name)) {
	case ".jpg", ".jpeg", ".heic", ".heif", ".png":
		return archive.RolePhoto
	}
	return archive.RoleDrawing
}

// photoPart reads a photo and takes its private data out.
func photoPart(path string) (archive.Part, []string, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return archive.Part{}, nil, cannotRead(path, err)
	}
	clean, removed, err := photo.WithoutPrivate(data)
	if err != nil {
		return archive.Part{}, nil, fmt.Errorf("reading %s: %w", filepath.ToSlash(path), err)
	}
	var said []string
	if len(removed) > 0 {
		said = []string{fmt.Sprintf("Taken out of %s: %s.", filepath.Base(path), strings.Join(removed, ", "))}
	}
	return archive.Part{Role: archive.RolePhoto, Name: filepath.Base(path), Data: clean}, said, nil
}

// describe fills in what the documents say: shape, sizes, date, title.
func describe(e *archive.Entry, folder string) error {
	d, err := documentIn(e.Parts, folder)
	if err != nil {
		return err
	}
	shape, err := shapefile.EncodeDocument(d)
	if err != nil {
		return err
	}
	e.Parts = append(e.Parts, archive.Part{Role: archive.RoleShape, Name: "shape.json", Data: shape})
	e.Title, e.MadeOn = d.Name, d.Date
	mm := func(x float64) *float64 { return &x }
	s := d.Shape.Size
	e.Sizes = archive.Sizes{Width: mm(s.Width.Millimetres()), Depth: mm(s.Depth.Millimetres()), Perimeter: mm(s.Perimeter.Millimetres()), Area: mm(s.AreaMM2)}
	if d.Uncertainty > 0 {
		e.Within = mm(d.Uncertainty.Millimetres())
	}
	for _, p := range e.Parts {
		var r job.Report
		if p.Role == archive.RoleMeasurement && json.Unmarshal(p.Data, &r) == nil {
			if e.Title = r.Job; r.Accuracy.Within > 0 {
				e.Within = mm(r.Accuracy.Within)
			}
			if day, err := time.Parse("2006-01-02", r.Date); err == nil {
				e.MadeOn = day
			}
		}
	}
	return nil
}

// documentIn finds the shape among the files: that of the measurement first, then
// the first file that carries one.
func documentIn(parts []archive.Part, folder string) (shapefile.Document, error) {
	for _, p := range parts {
		if p.Role == archive.RoleMeasurement {
			d, err := shapefile.DecodeDocument(p.Data)
			if err != nil {
				err = fmt.Errorf("reading %s: %w", p.Name, err)
			}
			return d, err
		}
	}
	for _, p := range parts {
		if ext := filepath.Ext(p.Name); ext != ".json" && ext != ".svg" {
			continue
		}
		d, err := shapefile.DecodeDocument(p.Data)
		if err == nil {
			return d, nil
		}
		if bytes.Contains(p.Data, []byte("fairedge_shape")) { // it wants to be one
			return d, fmt.Errorf("reading %s: %w", p.Name, err)
		}
	}
	return shapefile.Document{}, problem.Newf(problem.Usage, "name the folder that fairedge cut wrote, or a shape file",
		"there is no measurement.json and no shape in %s", filepath.ToSlash(folder))
}

// signatureScheme names the way signatures are made; another way gets another name.
const signatureScheme = "likeness 1"

// sign stores the signature by which the shape is found again.
func sign(ctx context.Context, a *archive.Archive, of archive.Saved) error {
	s, err := shapeOf(ctx, a, of)
	if problem.KindOf(err) == problem.NotKept {
		return nil
	}
	if err != nil {
		return err
	}
	signature, err := likeness.SignatureOf(s.Net)
	if err != nil {
		return err
	}
	data, err := signature.MarshalBinary()
	if err != nil {
		return err
	}
	return a.SetSignature(ctx, of, signatureScheme, data)
}
