package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"fairedge/internal/archive"
	"fairedge/internal/likeness"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"

	"github.com/spf13/cobra"
)

type exportFlags struct {
	archiveFlags
	out           string
	force, schema bool
}

func newExportCommand(env Environment) *cobra.Command {
	var flags exportFlags
	cmd := &cobra.Command{
		Use:   "export [N...] --out FILE",
		Short: "Write jobs, or the whole archive, to one open file",
		Long: `Writes jobs with all their revisions, files, notes and records into one JSON file that
needs no fairedge to be read: text as text, pictures in base64. Without numbers the
whole archive is written. "fairedge import" takes the file in again, without loss.

The form is open: --schema prints its JSON Schema. The file holds personal data.`,
		Example: `  fairedge export --out shop.json
  fairedge export 12 17 --out norgaard.json
  fairedge export --schema`,
		RunE: func(cmd *cobra.Command, args []string) error { return runExport(cmd.Context(), env, args, flags) },
	}
	flags.register(cmd)
	cmd.Flags().StringVar(&flags.out, "out", "", "the file to write")
	cmd.Flags().BoolVar(&flags.force, "force", false, "replace the file if it is there")
	cmd.Flags().BoolVar(&flags.schema, "schema", false, "print the JSON Schema of the file instead")
	return cmd
}

func runExport(ctx context.Context, env Environment, numbers []string, flags exportFlags) error {
	if flags.schema {
		_, err := env.Out.Write(archive.ExportSchema())
		return err
	}
	if flags.out == "" {
		return problem.New(problem.Usage, "there is no file to write to", "add --out FILE")
	}
	var jobs []int
	for _, n := range numbers {
		job, err := jobNumber(n)
		if err != nil {
			return err
		}
		jobs = append(jobs, job)
	}
	today, err := env.today()
	if err != nil {
		return err
	}
	return flags.reading(ctx, env, func(a *archive.Archive) error {
		var done archive.Exported
		err := safefile.Stream(flags.out, existing(flags.force), func(w io.Writer) (err error) {
			done, err = a.Export(ctx, w, jobs, today.Format("2006-01-02"), env.progress("exporting"))
			return err
		})
		env.endProgress()
		if err != nil {
			return err
		}
		if flags.json {
			return writeJSON(env.Out, done)
		}
		fmt.Fprintf(env.Out, "Written: %s, %s, %s (%s) in %s.\n", counted(done.Jobs, "job", "jobs"), counted(done.Revisions, "revision", "revisions"),
			counted(done.Contents, "document", "documents"), bytesWords(done.Bytes), filepath.ToSlash(flags.out))
		return nil
	})
}

func newImportJobsCommand(env Environment) *cobra.Command {
	var flags archiveFlags
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Take in jobs that fairedge export wrote",
		Long: `Takes in all jobs of an exported file, or none when anything is wrong with it. An archive
without jobs, or none yet, gets the same numbers, revisions and times; in one that has
jobs they are added under new numbers, and it is said which became which. What is
there is never changed; the same file taken in twice makes the jobs twice. For
drawings and shape files see "fairedge shape import" and "fairedge keep".`,
		Example: `  fairedge import shop.json --archive new.fairedge
  fairedge import norgaard.json`,
		Args: exactly(1, "one file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runImportJobs(cmd.Context(), env, args[0], flags)
		},
	}
	flags.register(cmd)
	return cmd
}

func runImportJobs(ctx context.Context, env Environment, path string, flags archiveFlags) error {
	f, err := os.Open(path)
	if err != nil {
		return cannotRead(path, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return cannotRead(path, err)
	}
	if !info.Mode().IsRegular() {
		return problem.Newf(problem.Usage, "name a file that fairedge export wrote", "%s is no ordinary file", filepath.ToSlash(path))
	}
	return flags.keeping(ctx, env, func(a *archive.Archive) error {
		done, err := a.Import(ctx, archive.ImportFile{Name: filepath.ToSlash(path), From: f, Size: info.Size(), Sound: soundSignature}, env.progress("importing"))
		env.endProgress()
		if err != nil {
			return err
		}
		if flags.json {
			return writeJSON(env.Out, done)
		}
		printImported(env, done, filepath.ToSlash(a.Path()))
		return nil
	})
}

// soundSignature refuses a signature that would spoil every later search by shape.
func soundSignature(scheme string, data []byte) bool {
	var s likeness.Signature
	return scheme != signatureScheme || s.UnmarshalBinary(data) == nil
}

func printImported(env Environment, done archive.Imported, path string) {
	fmt.Fprintf(env.Out, "Taken in: %s, %s in %s.\n", counted(len(done.Jobs), "job", "jobs"), counted(done.Revisions, "revision", "revisions"), path)
	if !done.Renumbered() {
		if len(done.Jobs) > 0 {
			fmt.Fprintln(env.Out, "Their numbers are the same here as there.")
		}
		return
	}
	for _, t := range done.Jobs {
		fmt.Fprintf(env.Out, "Job %d there is job %d here.\n", t.There, t.Here)
	}
}
