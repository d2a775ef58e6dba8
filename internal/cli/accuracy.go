package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"fairedge/internal/problem"
	"fairedge/internal/safefile"
	"fairedge/internal/sweep"

	"github.com/spf13/cobra"
)

type accuracyStudyFlags struct {
	out, keep string
	force     bool
	study     sweep.Study
}

func newAccuracyCommand(env Environment) *cobra.Command {
	flags := accuracyStudyFlags{}
	cmd := &cobra.Command{
		Use:   "accuracy",
		Short: "Measure simulated photos whose truth is known, and tell how far off it was",
		Long: `Draws random cameras, lenses, prints and cards, photographs a template of known
shape with them, measures it as "fairedge cut" does after the marks and the edge are
found, and writes tables: how far off the outline was, and how often the stated
uncertainty held. Nothing is read and no photo is needed.

The same numbers come out on every machine of one kind. 120 scenes a line take some
two minutes on two processors; --keep FILE remembers the lines that are done, so that a
run that was stopped goes on there. The file is good for one version of the program.`,
		Example: `  fairedge accuracy --scenes 12
  fairedge accuracy --scenes 120 --coverage 400 --several 100 --vary 20 --out ACCURACY.md --keep rows.json`,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error { return runAccuracy(cmd.Context(), env, flags) },
	}
	f := cmd.Flags()
	f.IntVar(&flags.study.Reach, "scenes", 12, "scenes for each line of the table of errors; 0 leaves it out")
	f.IntVar(&flags.study.Coverage, "coverage", 0, "scenes for each line of the table of how often the stated 95 % holds")
	f.IntVar(&flags.study.Several, "several", 0, "scenes for each line of the table of what averaging three photos gains")
	f.Float64Var(&flags.study.Vary, "vary", 0, "turn each threshold and prior up and down by so many percent")
	f.IntVar(&flags.study.VaryScenes, "vary-scenes", 120, "scenes of each layout for --vary")
	f.StringVar(&flags.out, "out", "", "file for the tables (Markdown); without it they are printed")
	f.BoolVar(&flags.force, "force", false, "replace the file")
	f.StringVar(&flags.keep, "keep", "", "file that remembers the lines that are done")
	return cmd
}

// mostScenes bounds what is plainly a slip of the keyboard: 25 lines of so many scenes
// take days.
const mostScenes = 100_000

func (f accuracyStudyFlags) check() error {
	s := f.study
	for _, n := range []int{s.Reach, s.Coverage, s.Several, s.VaryScenes} {
		if n < 0 || n > mostScenes {
			return problem.Newf(problem.Usage, "use 0 to 100000", "%d scenes cannot be measured", n)
		}
	}
	if !(s.Vary >= 0 && s.Vary < 100) {
		return problem.Newf(problem.Usage, "use less than 100", "--vary cannot be %g", s.Vary)
	}
	if s.Reach+s.Coverage+s.Several == 0 && (s.Vary == 0 || s.VaryScenes == 0) {
		return problem.New(problem.Usage, "there is nothing to measure", "use --scenes, --coverage, --several or --vary")
	}
	return nil
}

// command is how to make the same document again.
func (f accuracyStudyFlags) command() string {
	words := fmt.Sprintf("fairedge accuracy --scenes %d", f.study.Reach)
	if f.study.Coverage > 0 {
		words += fmt.Sprintf(" --coverage %d", f.study.Coverage)
	}
	if f.study.Several > 0 {
		words += fmt.Sprintf(" --several %d", f.study.Several)
	}
	if f.study.Vary > 0 {
		words += fmt.Sprintf(" --vary %g --vary-scenes %d", f.study.Vary, f.study.VaryScenes)
	}
	return words + " --out ACCURACY.md"
}

func runAccuracy(ctx context.Context, env Environment, flags accuracyStudyFlags) error {
	if err := flags.check(); err != nil {
		return err
	}
	watch, err := newStudyWatcher(env, flags.keep)
	if err != nil {
		return err
	}
	tables, err := flags.study.Tables(ctx, watch)
	watch.end()
	if errors.Is(err, context.Canceled) {
		return problem.New(problem.Cancelled, "stopped before the tables were done",
			"with --keep FILE the next run goes on where this one stopped").Because(err)
	}
	if err != nil {
		return err
	}
	document := sweep.Document(flags.command(), tables)
	if flags.out == "" {
		_, err = fmt.Fprint(env.Out, document)
		return err
	}
	return safefile.WriteFile(flags.out, []byte(document), existing(flags.force))
}

// studyWatcher shows how far a study is and remembers its rows.
type studyWatcher struct {
	env   Environment
	keep  string
	known map[string]sweep.Row

	mutex sync.Mutex
	shown time.Time
}

// keptRow is one line of the file that remembers.
type keptRow struct {
	Key string    `json:"key"`
	Row sweep.Row `json:"row"`
}

func newStudyWatcher(env Environment, keep string) (*studyWatcher, error) {
	w := &studyWatcher{env: env, keep: keep, known: map[string]sweep.Row{}}
	if keep == "" {
		return w, nil
	}
	f, err := os.Open(filepath.Clean(keep))
	if errors.Is(err, os.ErrNotExist) {
		return w, nil
	}
	if err != nil {
		return nil, cannotKeep(keep, err)
	}
	defer func() { _ = f.Close() }() // only read
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var kept keptRow
		// A line that a stopped run has left unfinished is measured again.
		if json.Unmarshal(lines.Bytes(), &kept) == nil && kept.Key != "" {
			w.known[kept.Key] = kept.Row
		}
	}
	return w, nil
}

func cannotKeep(path string, err error) error {
	return problem.Newf(problem.FileAccess, "name another file for --keep", "%s cannot be used", path).Because(err)
}

// Progress shows how much is done, at most five times a second.
func (w *studyWatcher) Progress(done, of int) {
	if !w.env.IsTerminal {
		return
	}
	w.mutex.Lock()
	defer w.mutex.Unlock()
	if now := time.Now(); now.Sub(w.shown) > 200*time.Millisecond || done == of {
		w.shown = now
		fmt.Fprintf(w.env.Err, "\r\033[K%d of %d scenes (%d %%)", done, of, 100*done/max(1, of))
	}
}

// end clears the progress line.
func (w *studyWatcher) end() {
	if w.env.IsTerminal {
		fmt.Fprint(w.env.Err, "\r\033[K")
	}
}

// Known returns a row of an earlier run.
func (w *studyWatcher) Known(key string) (sweep.Row, bool) {
	row, known := w.known[key]
	return row, known
}

// Measured adds a row to the file that remembers.
func (w *studyWatcher) Measured(key string, row sweep.Row) (err error) {
	if w.keep == "" {
		return nil
	}
	line, err := json.Marshal(keptRow{key, row})
	if err != nil {
		return fmt.Errorf("remembering a row: %w", err)
	}
	f, err := os.OpenFile(filepath.Clean(w.keep), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return cannotKeep(w.keep, err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err = f.Write(append(line, '\n')); err != nil {
		return cannotKeep(w.keep, err)
	}
	return nil
}
