package measure_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// board is one real photograph of a chessboard: where its corners are, and where
// they are seen.
type board struct {
	name          string
	width, height int
	marks         []measure.TargetMark
}

// readBoards reads a table of corners (see testdata/ORIGIN.md).
func readBoards(t *testing.T, path string) []board {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var boards []board
	for _, row := range rows[1:] {
		var v [6]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		if n := len(boards); n == 0 || boards[n-1].name != row[0] {
			boards = append(boards, board{name: row[0], width: int(v[0]), height: int(v[1])})
		}
		b := &boards[len(boards)-1]
		b.marks = append(b.marks, measure.TargetMark{
			Drawn: plane.Point{X: v[2], Y: v[3]}, Seen: photo.Point{X: v[4] + 0.5, Y: v[5] + 0.5}, Sigma: 0.15})
	}
	for i := range boards {
		boards[i].unmirror()
	}
	return boards
}

// unmirror turns the board's y over where the table's axes are left-handed as seen
// from its front.
func (b *board) unmirror() {
	// The sign of Σ (drawn triangle) x (seen triangle, y up) over neighbours.
	sum := 0.0
	for i := 2; i < len(b.marks); i++ {
		o, p, q := b.marks[0], b.marks[i-1], b.marks[i]
		drawn := p.Drawn.Sub(o.Drawn).Cross(q.Drawn.Sub(o.Drawn))
		seen := -((p.Seen.X-o.Seen.X)*(q.Seen.Y-o.Seen.Y) - (p.Seen.Y-o.Seen.Y)*(q.Seen.X-o.Seen.X))
		sum += math.Copysign(1, drawn*seen) * math.Abs(drawn)
	}
	if sum < 0 {
		for i := range b.marks {
			b.marks[i].Drawn.Y = -b.marks[i].Drawn.Y
		}
	}
}

// predict calibrates on the marks that patch takes and returns the distances of all
// the others from their true places, mm: in the board's own frame, with no
// alignment to help.
func predict(t *testing.T, b board, priors measure.Priors, patch func(plane.Point) bool) []float64 {
	t.Helper()
	var taken []measure.TargetMark
	for _, m := range b.marks {
		if patch(m.Drawn) {
			taken = append(taken, m)
		}
	}
	c, err := measure.CalibrateSet(measure.Set{
		Targets: []measure.Target{measure.NewTarget(b.name, taken)},
		Prints:  []card.Print{exactPrint()}, Width: b.width, Height: b.height,
		Candidates: []measure.Priors{priors},
	})
	if err != nil {
		t.Errorf("%s: %v", b.name, err)
		return nil
	}
	boardFromPlane := c.Cards[0].PlaneFromCard.Inverse()
	var errors []float64
	for _, m := range b.marks {
		if !patch(m.Drawn) {
			errors = append(errors, boardFromPlane.Apply(c.PlaneFromPhoto(m.Seen)).DistanceTo(m.Drawn))
		}
	}
	return errors
}

// rigidBoard are the priors for an unknown camera over a board glued flat, whose
// patch and rest are of one print.
func rigidBoard(b board) measure.Priors {
	p := measure.PriorsFor(measure.UnknownCamera, photo.Lens{}, b.width, b.height)
	p.CardLift, p.CardTilt, p.CardBend, p.Flatness = 0, 0, 0, nil
	p.Anisotropy, p.Placement = 0.0005, 0.05
	return p
}

func rmsOf(v []float64) float64 {
	sum := 0.0
	for _, e := range v {
		sum += e * e
	}
	return math.Sqrt(sum / float64(len(v)))
}

func TestPhotographsScratch(t *testing.T) {
	for _, path := range []string{"testdata/opencv-left.csv", "testdata/sony-hx5v-chess.csv", os.Getenv("ZHANG")} {
		if path == "" {
			continue
		}
		var all, rms []float64
		for _, b := range readBoards(t, path) {
			box := plane.EmptyRect()
			for _, m := range b.marks {
				box = box.Include(m.Drawn)
			}
			in := func(p plane.Point) bool {
				if box.Width() < 180 && len(b.marks) > 100 {
					return p.X < 85 && math.Abs(p.Y) < 85
				}
				near := func(v, lo, hi float64) bool { return v < lo+31 || v > hi-31 }
				return near(p.X, box.Min.X, box.Max.X) && near(p.Y, box.Min.Y, box.Max.Y)
			}
			e := predict(t, b, rigidBoard(b), in)
			if len(e) > 0 {
				all = append(all, e...)
				rms = append(rms, rmsOf(e))
				t.Logf("%s rms %.3f worst %.3f", b.name, rmsOf(e), quantile(e, 1))
			}
		}
		t.Logf("%s: median rms %.3f worst %.3f", path, quantile(rms, 0.5), quantile(all, 1))
	}
}
