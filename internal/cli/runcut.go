package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"fairedge/internal/job"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"
)

func runCut(ctx context.Context, env Environment, photos []string, flags cutFlags) error {
	if err := flags.checkPhotos(photos); err != nil {
		return err
	}
	if flags.out == "" {
		return problem.New(problem.Usage, "there is no folder for the results", "add --out DIR")
	}
	reading, err := flags.reading(env)
	if err != nil {
		return err
	}
	pattern, err := flags.pattern()
	if err != nil {
		return err
	}
	printing, err := flags.pages.printing(env)
	if err != nil {
		return err
	}
	today, err := env.today()
	if err != nil {
		return err
	}
	label := job.Label{Name: flags.name, Date: today, Program: "fairedge " + Version, Band: flags.accuracy.budget}
	watch := newStageWatcher(env, flags.debug)
	measured, err := job.ShapeFromPhotos(ctx, photos, reading, watch)
	watch.end()
	if debugErr := watch.writePictures(existing(flags.force)); err == nil {
		err = debugErr
	}
	if err != nil {
		return err
	}
	outlines, err := job.OutlinesFromShape(measured.Shape, pattern)
	if err != nil {
		return err
	}
	result, err := job.FilesOf(measured, outlines, pattern, label, flags.pad.plainPages(printing))
	if err != nil {
		return err
	}
	if err := flags.pad.addTo(&result, measured, label, printing); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return problem.New(problem.Cancelled, "stopped before writing", "nothing was written").Because(err)
	}
	started := time.Now()
	if err := safefile.WriteSet(flags.out, result.Files, existing(flags.force)); err != nil {
		return err
	}
	result.Report.AddTiming("storing the files", time.Since(started))
	if flags.json {
		err = printJSON(env.Out, result)
	} else {
		printSummary(env.Out, flags.out, result, flags.accuracy.budget)
	}
	if err != nil {
		return err
	}
	return job.Reaches(measured, reading.Ask)
}

// mostPhotos bounds what is plainly a slip, as a folder full of other photos.
const mostPhotos = 50

// checkPhotos reports what is wrong with the photos before any is read.
func (f cutFlags) checkPhotos(photos []string) error {
	seen := map[string]bool{}
	for _, p := range photos {
		if seen[filepath.Clean(p)] {
			return problem.Newf(problem.Usage, "name each photo once: a photo twice tells nothing new", "%s is named twice", p)
		}
		seen[filepath.Clean(p)] = true
	}
	switch n := len(photos); {
	case n == 0:
		return problem.New(problem.Usage, "fairedge cut takes one photo or more, not 0 arguments",
			"write it like: fairedge cut PHOTO [PHOTO...] --out DIR [flags]")
	case n > mostPhotos:
		return problem.Newf(problem.Usage, "choose the best of them", "%d photos are more than the %d that are averaged", n, mostPhotos)
	case n > 1 && f.inside != "":
		return problem.New(problem.Usage, "--inside is a place in one photo", "use it with one photo, or leave it away")
	}
	return nil
}

func printJSON(w io.Writer, result job.Result) error {
	var out bytes.Buffer
	if err := result.Report.WriteJSON(&out); err != nil {
		return err
	}
	_, err := w.Write(out.Bytes())
	return err
}

// printSummary tells a person what was measured and which files to open.
func printSummary(w io.Writer, dir string, result job.Result, budget bool) {
	for _, line := range result.Summary {
		fmt.Fprintln(w, line)
	}
	for _, warning := range result.Report.Warnings {
		fmt.Fprintf(w, "Note: %s.\n", warning)
	}
	if budget {
		fmt.Fprintf(w, "\n%s\n", strings.Join(result.Budget, "\n"))
	}
	fmt.Fprintf(w, "\nIn %s:\n", filepath.ToSlash(dir))
	for _, f := range result.Guide {
		fmt.Fprintf(w, "  %-22s %s\n", f.Name, f.Says)
	}
}
