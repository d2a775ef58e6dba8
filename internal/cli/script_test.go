package cli_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/cli"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/testscene"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"fairedge": func() { os.Exit(cli.Main(context.Background(), os.Args[1:], cli.SystemEnvironment())) },
	})
}

// TestStories runs the stories in testdata/script: each is a whole use of the
// program, with what it must print, write and leave alone.
func TestStories(t *testing.T) {
	photos := newStoryPhotos()
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			env.Setenv("FAIREDGE_DATA", filepath.Join(env.WorkDir, "data"))
			env.Setenv("SOURCE_DATE_EPOCH", "1767225600") // 2026-01-01
			return photos.write(env.WorkDir)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exitcode": exitCode, "samefiles": sameFiles, "truncate": truncate, "lensphotos": lensPhotos,
		},
	})
}

// lensPhotos makes photos of 1.2 MP for learning the lens of good.jpg's camera, from all
// sides: lensphotos 7 makes lens-0.jpg to lens-6.jpg.
func lensPhotos(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	for i := range n {
		scene := testscene.Workbench()
		scene.Cards = append(scene.Cards, testscene.PlacedCard(card.Letter, 1, 0, 0, 30))
		c := scene.Camera.Scaled(0.32)
		c.LookAt = plane.Point{X: float64(i%3-1) * 60, Y: []float64{150, -80, 80, 0, -150}[i%5]}
		c.TiltDeg, c.AzimuthDeg, c.RollDeg = []float64{2, 28, 25, 30}[i%4], float64(i)*360/float64(n), float64(i)*90
		if c.DistanceMM = 640; i%2 == 1 { // held upright the picture is narrower
			c.DistanceMM = 800
		}
		scene.Camera, scene.Seed = c, uint64(i)
		picture, _ := scene.Photograph()
		picture.Lens = photo.Lens{}
		data, err := testscene.JPEG(picture, 92)
		ts.Check(err)
		ts.Check(os.WriteFile(ts.MkAbs(fmt.Sprintf("lens-%d.jpg", i)), data, 0o600))
	}
}

// exitCode runs fairedge and compares its exit code: exitcode 20 cut ...
func exitCode(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	var out, errs bytes.Buffer
	env := cli.Environment{Out: &out, Err: &errs, Getenv: ts.Getenv, Now: cli.SystemEnvironment().Now}
	for i, a := range args {
		_, missing := os.Stat(ts.MkAbs(a))
		if i > 1 && missing == nil || strings.HasSuffix(a, ".jpg") || args[max(0, i-1)] == "--out" || args[max(0, i-1)] == "--debug" {
			args[i] = ts.MkAbs(a)
		}
	}
	got := cli.Main(context.Background(), args[1:], env)
	text := errs.String()
	ts.Logf("%d: %s", got, text)
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
	if want != 0 && (strings.Count(text, "\n") != 1 || !strings.HasPrefix(text, "fairedge: ")) {
		ts.Fatalf("the failure is not one sentence:\n%s", text)
	}
}

// sameFiles compares two folders byte by byte: samefiles a b.
func sameFiles(ts *testscript.TestScript, _ bool, args []string) {
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	if len(entries) < 5 {
		ts.Fatalf("only %d files in %s", len(entries), args[0])
	}
	for _, e := range entries {
		if ts.ReadFile(filepath.Join(args[0], e.Name())) != ts.ReadFile(filepath.Join(args[1], e.Name())) {
			ts.Fatalf("%s differs between %s and %s", e.Name(), args[0], args[1])
		}
	}
}

// truncate keeps the first share of a file, in percent: truncate photo.jpg 60.
func truncate(ts *testscript.TestScript, _ bool, args []string) {
	percent, err := strconv.Atoi(args[1])
	ts.Check(err)
	info, err := os.Stat(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(os.Truncate(ts.MkAbs(args[0]), info.Size()*int64(percent)/100))
}

// storyPhotos are rendered once and copied into every story's folder.
type storyPhotos struct {
	once  sync.Once
	files map[string][]byte
	err   error
}

func newStoryPhotos() *storyPhotos { return &storyPhotos{} }

func (s *storyPhotos) write(dir string) error {
	s.once.Do(s.render)
	if s.err != nil {
		return s.err
	}
	for name, data := range s.files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			return err
		}
	}
	return nil
}

// render makes photos of 3 MP: a good one, one from the other side, one without cards, one whose line leaves
// the picture, one without a line.
func (s *storyPhotos) render() {
	s.files = map[string][]byte{}
	for name, change := range map[string]func(*testscene.Scene){
		"good.jpg": func(*testscene.Scene) {},
		"side.jpg": func(scene *testscene.Scene) {
			scene.Camera.AzimuthDeg, scene.Camera.TiltDeg, scene.Camera.RollDeg, scene.Seed = 184, 14, 178, 2
		},
		"no-card.jpg":  func(scene *testscene.Scene) { scene.Cards = nil },
		"no-line.jpg":  func(scene *testscene.Scene) { scene.Line.Darkness, scene.Sheet.Opacity = 0.001, 0.001 },
		"cut-off.jpg":  func(scene *testscene.Scene) { scene.Camera.LookAt = plane.Point{X: -330} },
		"far-away.jpg": func(scene *testscene.Scene) { scene.Camera.DistanceMM *= 2.2 },
		"blurred.jpg":  func(scene *testscene.Scene) { scene.Sensor.BlurPx = 4.5 },
	} {
		scene := testscene.Workbench()
		scene.Camera.Width, scene.Camera.Height, scene.Camera.F = scene.Camera.Width/2, scene.Camera.Height/2, scene.Camera.F/2
		change(&scene)
		picture, _ := scene.Photograph()
		picture.Lens = photo.Lens{}
		data, err := testscene.JPEG(picture, 92)
		if err != nil {
			s.err = fmt.Errorf("%s: %w", name, err)
			return
		}
		s.files[name] = data
	}
}
