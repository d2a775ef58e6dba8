package archive

import (
	"context"
	"os"
	"time"
)

// Progress hears of long work: done of total, in whatever unit. It may be nil.
type Progress func(done, total int64)

func (p Progress) say(done, total int64) {
	if p != nil {
		p(min(done, total), total)
	}
}

// Backup copies the archive to a new file while it stays in use: all that was
// saved when it began, nothing half. The copy is read completely and checked before it
// gets its name; a file that is there is never replaced. To restore, put the copy
// in the archive's place while no fairedge runs.
func (a *Archive) Backup(ctx context.Context, to string, progress Progress) (Health, error) {
	var health Health
	err := intoPlace(to, func(temporary string) error {
		size := a.fileSize()
		stop := watchSize(temporary, func(bytes int64) { progress.say(bytes, 2*size) })
		// A read transaction and the copy are one: SQLite's VACUUM INTO.
		_, err := a.db.ExecContext(ctx, "VACUUM INTO ?", temporary)
		stop()
		if err != nil {
			return explain(to, err)
		}
		health, err = Check(ctx, temporary, func(done, total int64) { progress.say(size+done*size/max(total, 1), 2*size) })
		if err != nil {
			return err
		}
		if !health.Sound() {
			return damaged(a.path, health.fault())
		}
		return nil
	})
	health.Path = to
	return health, err
}

// fileSize is the size of the archive in bytes, at least 1.
func (a *Archive) fileSize() int64 {
	info, err := os.Stat(a.path)
	if err != nil {
		return 1
	}
	return max(info.Size(), 1)
}

// watchSize tells how large a file has grown, some times a second, until stopped.
func watchSize(path string, say func(bytes int64)) (stop func()) {
	done, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(200 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				if info, err := os.Stat(path); err == nil {
					say(info.Size())
				}
			}
		}
	}()
	return func() { close(done); <-ended }
}
