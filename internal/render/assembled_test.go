package render

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// tCushion is a T-shaped outline, 638 x 574 mm, that A4 takes on upright and turned
// pages mixed.
func tCushion() curve.Path {
	p := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	return curve.ClosedPath(
		curve.Line(p(519, 0), p(0, 0)), curve.Line(p(0, 0), p(0, -420)), curve.Line(p(0, -420), p(-59, -424)),
		curve.Cubic(p(-59, -424), p(-66, -470), p(-60, -540), p(-40, -560)),
		curve.Cubic(p(-40, -560), p(100, -579), p(420, -579), p(559, -560)),
		curve.Cubic(p(559, -560), p(579, -540), p(585, -470), p(578, -424)),
		curve.Line(p(578, -424), p(519, -420)), curve.Line(p(519, -420), p(519, 0)),
	)
}

// meeting is a join mark as measured on one page, sheet frame.
type meeting struct {
	name string // the same on both pages
	at   plane.Point
}

// middle returns where the ink around the point lies along the axis nearest to the
// direction, as a displacement along the direction, averaged over 0.4 mm of the line.
func (r *raster) middle(t *testing.T, p plane.Point, direction plane.Vec, reach float64) float64 {
	t.Helper()
	axis, aside := plane.Vec{X: 1}, plane.Vec{Y: 1}
	share := direction.X
	if math.Abs(direction.Y) > math.Abs(direction.X) {
		axis, aside, share = aside, axis, direction.Y
	}
	// Beside p the line has moved on along the axis by slope times the distance.
	slope := -direction.Dot(aside) / share
	const rows = 9
	sum := 0.0
	for k := range rows {
		d := (float64(k)/(rows-1) - 0.5) * 0.4
		q := p.Add(aside.Scale(d)).Add(axis.Scale(slope * d))
		ink, off := r.moment(q, axis, reach)
		if ink < 0.05 {
			t.Fatalf("there is no line at %v", q)
		}
		// moment reads one row of pixels: its middle lies a little beside q.
		miss := (math.Floor(q.X*r.perMM)+0.5)/r.perMM - q.X
		if axis.X != 0 {
			down := r.heightMM - q.Y
			miss = down - (math.Floor(down*r.perMM)+0.5)/r.perMM
		}
		sum += off - slope*miss
	}
	return sum / rows * share
}

// meetings measures all join marks of a page.
func meetings(t *testing.T, r *raster, s sheet.Sheet) []meeting {
	t.Helper()
	var found []meeting
	for _, item := range s.Items {
		line, ok := item.(sheet.Stroke)
		if !ok || !strings.HasPrefix(line.ID, "join-") || strings.HasSuffix(line.ID, "-right") {
			continue
		}
		seg := line.Path.Segment(0)
		name := strings.TrimSuffix(line.ID, "-left")
		at, away := seg.P3, seg.P0.Sub(seg.P3).Unit() // the first page: the line runs up to the join
		if name != line.ID {
			other := stroke(t, s, name+"-right").Path.Segment(0)
			at, away = seg.P0.Lerp(other.P0, 0.5), seg.P3.Sub(seg.P0).Unit()
		}
		along := away.TurnLeft()
		place := at.Add(along.Scale(r.middle(t, at.Add(away.Scale(6)), along, 1)))
		across := (r.middle(t, at.Add(along.Scale(7)), away, 1.2) + r.middle(t, at.Add(along.Scale(-7)), away, 1.2)) / 2
		found = append(found, meeting{name, place.Add(away.Scale(across))})
	}
	return found
}

// outlineOn measures the line where the page shows it, every few mm: what is drawn,
// on the sheet, and the place of the true line in the whole drawing.
func outlineOn(t *testing.T, r *raster, plan sheet.Plan, page int, path curve.Path) (drawn, whole []plane.Point) {
	t.Helper()
	pageFromWhole := plan.PageFromWhole(page)
	around := path.ArcLength(0.001)
	n := int(around / 7)
	lengths := make([]float64, n)
	for i := range lengths {
		lengths[i] = (float64(i) + 0.5) * around / float64(n)
	}
	corners := path.Corners(0.2)
	for _, spot := range path.AtLengths(lengths, 0.001) {
		near := !plan.Tiles[page].Shows.Grow(0.01).Contains(spot.Point) || nearSeam(plan, page, spot.Point)
		for _, c := range corners {
			near = near || path.Segment(c).P0.DistanceTo(spot.Point) < 4 || path.Segment(c).P3.DistanceTo(spot.Point) < 4
		}
		if near {
			continue
		}
		normal := pageFromWhole.ApplyVec(path.Segment(spot.Piece).OutwardNormal(spot.T))
		q := pageFromWhole.Apply(spot.Point)
		drawn = append(drawn, q.Add(normal.Scale(r.middle(t, q, normal, 2))))
		whole = append(whole, spot.Point)
	}
	return drawn, whole
}

// nearSeam reports whether another line of the page may lie on the outline there: the
// border of a page that goes on elsewhere.
func nearSeam(plan sheet.Plan, page int, q plane.Point) bool {
	for i, other := range plan.Tiles {
		if i == page {
			continue
		}
		if other.Shows.Grow(4).Contains(q) && !other.Shows.Grow(-4).Contains(q) {
			return true
		}
		for _, v := range []plane.Vec{{X: 5}, {X: -5}, {Y: 5}, {Y: -5}} {
			if !plan.Tiles[page].Shows.Contains(q.Add(v)) && other.Shows.Contains(q.Add(v)) {
				return true
			}
		}
	}
	return false
}

// The pages, drawn at 600 dpi by two independent programs and put together by their
// marks alone, give the outline to 0.05 mm: a tenth of what hands can do.
func TestPagesPutTogetherByTheirMarksAreTheOutline(t *testing.T) {
	if os.Getenv("FAIREDGE_SLOW") != "1" {
		t.Skip("set FAIREDGE_SLOW=1 to draw all pages at 600 dpi")
	}
	border, err := tCushion().CounterClockwise().OffsetOutline(curve.Uniform(2), 0.01)
	if err != nil {
		t.Fatal(err)
	}
	s := sheet.Sheet{Title: "T", Items: []sheet.Item{sheet.Stroke{ID: "fabric", Path: border.Path}}}
	plan, err := sheet.NewPlan(s, sheet.A4(), sheet.DefaultTiling())
	if err != nil {
		t.Fatal(err)
	}
	pages := plan.Pages(s)
	pdf := writePDF(t, pages, Meta{})
	for name, drawer := range map[string]func(*testing.T, string, int, float64, sheet.Sheet) *raster{"poppler": poppler, "MuPDF": mupdf} {
		t.Run(name, func(t *testing.T) {
			var found [][]meeting
			var drawn, whole [][]plane.Point
			for i, page := range pages {
				r := drawer(t, pdf, i+1, 600, page)
				found = append(found, meetings(t, r, page))
				d, w := outlineOn(t, r, plan, i, border.Path)
				drawn, whole = append(drawn, d), append(whole, w)
			}
			together := putTogether(t, found)
			var got, want []plane.Point
			for i := range pages {
				for k, q := range drawn[i] {
					got, want = append(got, together[i].Apply(q)), append(want, whole[i][k])
				}
			}
			wholeFromTogether := plane.BestRigid(got, want)
			worst := 0.0
			for _, q := range got {
				_, d := border.Path.Nearest(wholeFromTogether.Apply(q))
				worst = math.Max(worst, d)
			}
			t.Logf("%d pages, %d places on the outline, worst %.4f mm off", len(pages), len(got), worst)
			if worst > 0.05 || len(got) < 200 {
				t.Errorf("%d places, the worst %.4f mm off the outline, want at most 0.05", len(got), worst)
			}
		})
	}
}

// putTogether lays page after page against those that lie already, the one with the
// most marks in common next.
func putTogether(t *testing.T, found [][]meeting) []plane.Rigid {
	t.Helper()
	placed := make([]bool, len(found))
	together := make([]plane.Rigid, len(found))
	lying := map[string]plane.Point{}
	lay := func(i int, m plane.Rigid) {
		placed[i], together[i] = true, m
		for _, f := range found[i] {
			if _, known := lying[f.name]; !known {
				lying[f.name] = m.Apply(f.at)
			}
		}
	}
	lay(0, plane.Identity())
	for range len(found) - 1 {
		best, most := -1, 1
		var source, target []plane.Point
		for i := range found {
			if placed[i] {
				continue
			}
			var from, to []plane.Point
			for _, f := range found[i] {
				if q, known := lying[f.name]; known {
					from, to = append(from, f.at), append(to, q)
				}
			}
			if len(from) > most {
				best, most, source, target = i, len(from), from, to
			}
		}
		if best < 0 {
			t.Fatal(fmt.Sprint("no further page shares two marks with those that lie: ", placed))
		}
		lay(best, plane.BestRigid(source, target))
	}
	return together
}
