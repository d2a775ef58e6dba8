package cli

import (
	"fmt"

	"fairedge/internal/job"
	"fairedge/internal/safefile"
)

// stageWatcher shows the stage on a terminal's last line and, when a debug folder
// is asked for, collects a picture of every stage.
type stageWatcher struct {
	env      Environment
	debugDir string
	pictures []safefile.File
	failed   error
}

func newStageWatcher(env Environment, debugDir string) *stageWatcher {
	return &stageWatcher{env: env, debugDir: debugDir}
}

// Stage shows what is being done.
func (w *stageWatcher) Stage(name string) {
	if w.env.IsTerminal {
		fmt.Fprintf(w.env.Err, "\r\033[K%s ...", name)
	}
}

// Evidence draws the stage that has just ended.
func (w *stageWatcher) Evidence(e job.Evidence) {
	if w.debugDir == "" || w.failed != nil {
		return
	}
	pictures, err := job.DebugPictures(e, len(w.pictures)+1)
	w.pictures, w.failed = append(w.pictures, pictures...), err
}

// end clears the progress line.
func (w *stageWatcher) end() {
	if w.env.IsTerminal {
		fmt.Fprint(w.env.Err, "\r\033[K")
	}
}

// writePictures stores what was collected, also after a failed run: that is when
// it is needed.
func (w *stageWatcher) writePictures(existing safefile.Existing) error {
	if w.failed != nil || len(w.pictures) == 0 {
		return w.failed
	}
	return safefile.WriteSet(w.debugDir, w.pictures, existing)
}
