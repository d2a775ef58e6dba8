package measure_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// circlePictures is where Debian's package visp-images-data puts its calibration
// pictures: 36 black circles on a grid of 30 mm, four photographs of 640 x 480 px.
const circlePictures = "/usr/share/visp-images-data/ViSP-images/calibration/grid36-%02d.pgm"

// readCircles finds the middles of the circles: the dark blobs of about their size,
// each weighed by its darkness.
func readCircles(t *testing.T, path string) board {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v: install visp-images-data (make test does)", err)
	}
	var width, height int
	head := bytes.SplitN(data, []byte("\n255\n"), 2)
	lines := bytes.Split(head[0], []byte("\n"))
	if _, err := fmt.Sscan(string(lines[len(lines)-1]), &width, &height); err != nil || len(head) != 2 || len(head[1]) < width*height {
		t.Fatalf("%s is no PGM picture that can be read (%v)", path, err)
	}
	b := board{name: path, width: width, height: height}
	grey := head[1]
	seen := make([]bool, width*height)
	for start := range seen {
		if !seen[start] && grey[start] < circleDark {
			if p, area := blob(grey, seen, width, height, start); area > 300 && area < 4000 {
				b.marks = append(b.marks, measure.TargetMark{Seen: p, Sigma: 0.15})
			}
		}
	}
	if len(b.marks) != 36 {
		t.Fatalf("%s: %d circles found, there are 36", path, len(b.marks))
	}
	b.number(6, 30)
	b.unmirror()
	return b
}

// circleDark parts the circles (35 to 55 grey levels) from the paper (100 and more).
const circleDark = 75

// blob returns the middle of the dark pixels that hang together with start, by their
// darkness, and how many they are.
func blob(grey []byte, seen []bool, width, height, start int) (photo.Point, int) {
	var x, y, weight float64
	todo, area := []int{start}, 0
	seen[start] = true
	for len(todo) > 0 {
		at := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		area++
		i, j := at%width, at/width
		w := float64(circleDark) - float64(grey[at]) + 1
		x, y, weight = x+w*(float64(i)+0.5), y+w*(float64(j)+0.5), weight+w
		for _, step := range [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			u, v := i+step[0], j+step[1]
			if k := v*width + u; u >= 0 && v >= 0 && u < width && v < height && !seen[k] && grey[k] < circleDark {
				seen[k] = true
				todo = append(todo, k)
			}
		}
	}
	return photo.Point{X: x / weight, Y: y / weight}, area
}

// number gives the marks their places: rows from the top, each from the left. The board
// is seen upright.
func (b *board) number(side int, pitch float64) {
	slices.SortFunc(b.marks, func(a, c measure.TargetMark) int { return int(math.Copysign(1, a.Seen.Y-c.Seen.Y)) })
	for row := range side {
		line := b.marks[row*side : row*side+side]
		slices.SortFunc(line, func(a, c measure.TargetMark) int { return int(math.Copysign(1, a.Seen.X-c.Seen.X)) })
		for column := range line {
			line[column].Drawn = plane.Point{X: float64(column) * pitch, Y: -float64(row) * pitch}
		}
	}
}

// circleRadius of the grid, mm: 42 px where the pitch of 30 mm is 64 px.
const circleRadius = 9.8

// centred moves the marks from the middle of each circle's image to the image of its
// middle: seen aslant from near by, the two differ by up to a pixel (Heikkilä, "Geometric
// camera calibration using circular control points", IEEE PAMI 22(10), 2000). raw are the
// boards as they were read.
func centred(t *testing.T, raw []board, l *measure.LearnedLens) []board {
	t.Helper()
	known := measure.LensProfile{Name: "circles", Width: raw[0].width, Height: raw[0].height, Lens: l.Lens}
	out := slices.Clone(raw)
	for i, b := range raw {
		out[i].marks = slices.Clone(b.marks)
		c, err := measure.CalibrateSet(measure.Set{
			Targets: []measure.Target{measure.NewTarget(b.name, b.marks)}, Prints: []card.Print{exactPrint()},
			Width: b.width, Height: b.height, Candidates: []measure.Priors{known.Over(rigidBoard(b), photo.Lens{}, b.width, b.height)}})
		if err != nil {
			t.Fatal(err)
		}
		image := func(p plane.Point) photo.Point { return c.PhotoFromPlane(c.Cards[0].PlaneFromCard.Apply(p)) }
		for k, m := range b.marks {
			middle, round := image(m.Drawn), centroid(image, m.Drawn)
			out[i].marks[k].Seen = photo.Point{X: m.Seen.X - round.X + middle.X, Y: m.Seen.Y - round.Y + middle.Y}
		}
	}
	return out
}

// centroid is the middle of the area of a circle's image.
func centroid(image func(plane.Point) photo.Point, at plane.Point) photo.Point {
	const corners = 72
	var ring [corners]photo.Point
	for i := range ring {
		s, c := math.Sincos(2 * math.Pi * float64(i) / corners)
		ring[i] = image(at.Add(plane.Vec{X: circleRadius * c, Y: circleRadius * s}))
	}
	var x, y, area float64
	for i, p := range ring {
		q := ring[(i+1)%corners]
		a := p.X*q.Y - q.X*p.Y
		x, y, area = x+(p.X+q.X)*a, y+(p.Y+q.Y)*a, area+3*a
	}
	return photo.Point{X: x / area, Y: y / area}
}

// ViSP's own calibration of these pictures, at half their size, has f = 272.4 px. Four
// photographs of one sheet of paper that is not glued to anything leave 0.8 px rms and
// know the focal length to 1.1 %; the distortion (ViSP's model runs from distorted to
// straight and has no second term) they hardly know, and it is not compared.
func TestLensOfCircles(t *testing.T) {
	var raw []board
	for i := range 4 {
		raw = append(raw, readCircles(t, fmt.Sprintf(circlePictures, i+1)))
	}
	params := plain(0)
	params.K2, params.MinPhotos = 1e-6, 4
	l := learn(t, boardViews(raw), params)
	for range 3 {
		l = learn(t, boardViews(centred(t, raw, l)), params)
	}
	published{f: 2 * 272.4}.compare(t, l, published{f: 0.011 * 2 * 272.4})
	if l.RMS > 1 {
		t.Errorf("%.2f px rms, want 1", l.RMS)
	}
}
