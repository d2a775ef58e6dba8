package archive

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// The tests of this file run this test binary once more as another program; what it
// does is named in the environment.
const (
	actEnv     = "FAIREDGE_ARCHIVE_TEST_ACT"
	archiveEnv = "FAIREDGE_ARCHIVE_TEST_FILE"
)

func TestMain(m *testing.M) {
	switch os.Getenv(actEnv) {
	case "save without end":
		os.Exit(saveWithoutEnd(os.Getenv(archiveEnv)))
	case "forget and back up without end":
		os.Exit(forgetWithoutEnd(os.Getenv(archiveEnv)))
	case "save some":
		os.Exit(saveSome(os.Getenv(archiveEnv)))
	case "save with little room":
		os.Exit(saveWithLittleRoom(os.Getenv(archiveEnv)))
	}
	os.Exit(m.Run())
}

func actor(act, path string) *exec.Cmd {
	command := exec.Command(os.Args[0])
	command.Env = append(os.Environ(), actEnv+"="+act, archiveEnv+"="+path)
	command.Stderr = os.Stderr
	return command
}

// saveWithoutEnd saves one job after another and says each number once it is kept.
// Between them it changes and notes, so that the kill falls into those too.
func saveWithoutEnd(path string) int {
	ctx := context.Background()
	a, err := OpenOrCreate(ctx, path, Options{Program: "crash test"})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	for {
		jobs, _, err := a.Count(ctx)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		saved, err := a.Keep(ctx, numbered(jobs))
		if err == nil {
			fmt.Println(saved.Job)
			_, err = a.Note(ctx, saved.Job, "noted")
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
	}
}

const some = 15

// saveSome keeps some jobs, each with a note to the first job.
func saveSome(path string) int {
	ctx := context.Background()
	a, err := OpenOrCreate(ctx, path, Options{Program: "crash test"})
	for i := 0; err == nil && i < some; i++ {
		if _, err = a.Keep(ctx, numbered(i)); err == nil {
			_, err = a.Note(ctx, 1, fmt.Sprint("note ", i))
		}
	}
	if err == nil {
		err = a.Close()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// TestProcessesAtOnce has other programs, not other goroutines, make one archive and
// save in it at the same time; one more is killed in the middle.
func TestProcessesAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), FileName)
	const programs = 3
	var running []*exec.Cmd
	for range programs {
		command := actor("save some", path)
		if err := command.Start(); err != nil {
			t.Fatal(err)
		}
		running = append(running, command)
	}
	said := killedAfter(t, path, 30*time.Millisecond)
	for _, command := range running {
		if err := command.Wait(); err != nil {
			t.Error(err)
		}
	}
	h := mustBeSound(t, path)
	if h.Jobs < programs*some || said > h.Jobs {
		t.Errorf("%d jobs after %d programs kept %d each and one said %d", h.Jobs, programs, some, said)
	}
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	history, err := a.History(t.Context(), 1)
	if err != nil || len(history) < 1+programs*some {
		t.Errorf("job 1 has %d revisions (%v), want at least %d", len(history), err, 1+programs*some)
	}
}

// TestKilledWhileSaving kills a program with SIGKILL at any moment of its saves,
// from its start on. Afterwards the archive is sound; every job that was said to be
// kept is there with all its bytes; a job that was not said is there whole or not at
// all.
func TestKilledWhileSaving(t *testing.T) {
	kills := 15
	if os.Getenv("FAIREDGE_SLOW") != "" {
		kills = 300
	}
	path := filepath.Join(t.TempDir(), FileName)
	random := rand.New(rand.NewPCG(1, 2))
	said := 0
	for range kills {
		said = max(said, killedAfter(t, path, time.Duration(random.IntN(120_000))*time.Microsecond))
		checkAfterCrash(t, path, said)
	}
	t.Logf("%d kills; %d jobs were said to be kept", kills, said)
	if said < kills/3 {
		t.Errorf("only %d jobs in %d runs: the kills came too early to test anything", said, kills)
	}
}

// killedAfter runs the saving program, kills it some time after its first word (or
// after it began, every third time) and returns the last number it said.
func killedAfter(t *testing.T, path string, after time.Duration) (said int) {
	t.Helper()
	return killed(t, "save without end", path, after)
}

func killed(t *testing.T, act, path string, after time.Duration) (said int) {
	t.Helper()
	command := actor(act, path)
	out, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	if after.Microseconds()%3 != 0 && lines.Scan() {
		said, _ = strconv.Atoi(lines.Text())
	}
	time.Sleep(after)
	if err := command.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	for lines.Scan() {
		said, _ = strconv.Atoi(lines.Text())
	}
	if err := command.Wait(); err == nil || command.ProcessState.ExitCode() >= 0 {
		t.Fatalf("the program ended by itself: %v", err)
	}
	return said
}

// forgetWithoutEnd forgets one job after another, makes a backup after each, and says
// each number once it is forgotten.
func forgetWithoutEnd(path string) int {
	ctx := context.Background()
	a, err := Open(ctx, path, Options{Program: "crash test"})
	for job := 1; err == nil; job++ {
		var times []string
		if times, err = a.Forgettings(ctx, job); err != nil || len(times) > 0 {
			continue
		}
		if _, err = a.Forget(ctx, []int{job}); err == nil {
			fmt.Println(job)
			_, err = a.Backup(ctx, fmt.Sprintf("%s-%d", path, job), nil)
		}
	}
	fmt.Fprintln(os.Stderr, err)
	return 1
}

// TestKilledWhileForgetting kills a program while it deletes, writes the file anew and
// makes backups. The archive is sound each time, what was said to be forgotten is gone,
// what was not reached is whole, and every backup that has its name is sound.
func TestKilledWhileForgetting(t *testing.T) {
	kills, jobs := 4, 60
	if os.Getenv("FAIREDGE_SLOW") != "" {
		kills, jobs = 60, 400
	}
	path, kept := shopOf(t, jobs)
	random := rand.New(rand.NewPCG(3, 4))
	said := 0
	for range kills {
		said = max(said, killed(t, "forget and back up without end", path, time.Duration(random.IntN(1500*jobs))*time.Microsecond))
		mustBeSound(t, path)
	}
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	for i, want := range kept {
		r, err := a.Get(t.Context(), i+1, Newest)
		if err != nil || i < said && !r.WordsGone || i > said && r.Words != want.Words {
			t.Fatalf("job %d after %d were forgotten: %+v, %v", i+1, said, r.Words, err)
		}
	}
	backups, err := filepath.Glob(path + "-[0-9]*")
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range backups {
		mustBeSound(t, b)
	}
	t.Logf("%d kills, %d jobs forgotten, %d backups", kills, said, len(backups))
	if said == 0 {
		t.Error("nothing was forgotten: the kills came too early to test anything")
	}
}

func checkAfterCrash(t *testing.T, path string, said int) {
	t.Helper()
	if _, err := os.Stat(path); os.IsNotExist(err) && said == 0 {
		return // killed before there was an archive
	}
	h := mustBeSound(t, path)
	if h.Jobs < said || h.Jobs > said+1 {
		t.Fatalf("%d jobs after %d were said to be kept", h.Jobs, said)
	}
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	for job := max(1, said-3); job <= h.Jobs; job++ { // Check has read the bytes of all
		want, got := numbered(job-1), loaded(t, a, job, 1)
		if got.Words != want.Words || len(got.Parts) != len(want.Parts) {
			t.Fatalf("job %d is %+v", job, got)
		}
		for i := range got.Parts {
			if !bytes.Equal(got.Parts[i].Data, want.Parts[i].Data) {
				t.Fatalf("job %d: %s has other bytes", job, got.Parts[i].Name)
			}
		}
	}
}

// littleRoom is how many bytes a file may have in saveWithLittleRoom: some jobs.
const littleRoom = 600_000

// saveWithLittleRoom saves until the disk is full: the system refuses to let a file grow beyond a
// limit (setrlimit, RLIMIT_FSIZE), as it does when the disk has no more room. Then
// it says what it was told, and goes on reading.
func saveWithLittleRoom(path string) int {
	// The write must fail instead of ending the program (signal 25, SIGXFSZ).
	ignoreFileSizeSignal()
	limit := syscall.Rlimit{Cur: littleRoom, Max: littleRoom}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	ctx := context.Background()
	a, err := OpenOrCreate(ctx, path, Options{Program: "full disk test"})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	kept := 0
	for ; kept < 1000; kept++ {
		if _, err = a.Keep(ctx, numbered(kept)); err != nil {
			break
		}
	}
	jobs, _, countErr := a.Count(ctx)
	fmt.Printf("%d\n%d\n%v\n%v\n", kept, jobs, countErr, err)
	return 0
}

func TestFullDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), FileName)
	out, err := actor("save with little room", path).Output()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	said := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(said) != 4 || said[0] == "0" || said[0] == "1000" || said[0] != said[1] || said[2] != "<nil>" {
		t.Fatalf("told %q", said)
	}
	if !strings.Contains(said[3], "free space") && !strings.Contains(said[3], "make room") {
		t.Errorf("the failure is told as %q", said[3])
	}
	kept, err := strconv.Atoi(said[0])
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d jobs fitted; then: %s", kept, said[3])
	checkAfterCrash(t, path, kept)
	a, err := Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	if saved := mustKeep(t, a, numbered(kept)); saved.Job != kept+1 {
		t.Errorf("with room again the next job is %d, want %d", saved.Job, kept+1)
	}
}

// TestNoRoomInTheFile has SQLite itself run out of pages: its own kind of failure.
func TestNoRoomInTheFile(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, numbered(0))
	a.db.SetMaxOpenConns(1)
	if _, err := a.db.ExecContext(t.Context(), "PRAGMA max_page_count = 40"); err != nil {
		t.Fatal(err)
	}
	var err error
	kept := 1
	for ; err == nil && kept < 100; kept++ {
		_, err = a.Keep(t.Context(), numbered(kept))
	}
	if err == nil || !strings.Contains(err.Error(), "no space left") {
		t.Fatalf("after %d jobs: %v", kept, err)
	}
	if jobs, _, err := a.Count(t.Context()); jobs != kept-1 || err != nil {
		t.Errorf("%d jobs (%v), want %d", jobs, err, kept-1)
	}
}
