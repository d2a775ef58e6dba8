package pad

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/shape"
)

// edged is a closed line whose pieces know which edge of the seat they lie
// opposite; -1 is a corner's own piece.
type edged struct {
	path curve.Path
	edge []int
}

// traced returns the template with its edges.
func traced(s shape.Shape) edged {
	edge := make([]int, s.Net.Len())
	for k, e := range s.Edges {
		for i := range e.Count {
			edge[(e.First+i)%s.Net.Len()] = k
		}
	}
	return edged{s.Net, edge}
}

// grown returns the line moved outward by one distance for each edge.
func (l edged) grown(by func(edge int) float64, join curve.Join, tol float64) (edged, error) {
	distances := make([]float64, l.path.Len())
	for i := range distances {
		distances[i] = by(l.edge[i])
	}
	return l.grownByPiece(distances, join, tol)
}

// grownByPiece returns the line moved outward by one distance for each piece.
func (l edged) grownByPiece(distances []float64, join curve.Join, tol float64) (edged, error) {
	still := true
	for _, d := range distances {
		still = still && math.Abs(d) < 1e-9
	}
	if still {
		return l, nil
	}
	border, err := l.path.OffsetOutline(curve.ByPiece(distances).WithJoin(join), tol)
	if err != nil {
		return edged{}, err
	}
	out := edged{border.Path, make([]int, len(border.Sources))}
	for i, source := range border.Sources {
		out.edge[i] = -1
		if source >= 0 {
			out.edge[i] = l.edge[source]
		}
	}
	return out, nil
}

func evenly(d float64) func(int) float64 { return func(int) float64 { return d } }

// lines are the nested lines of a pad.
type lines struct {
	finished, foam, seam, cut edged
}

// ease returns how far the seam line lies outside the finished line, mm.
func (r Recipe) ease() float64 {
	t := r.Foam.Thickness.Millimetres()
	e := float64(r.Plate.Ease) * t
	if r.Plate.BevelEase {
		// Down a square edge it is t/2; a 45 degree bevel of leg c draws the edge in by c
		// and saves 2c of the way for √2 c: t/2 - (2 - √2) c.
		e = t/2 - (2-math.Sqrt2)*r.Foam.Bevel.Millimetres()
	}
	return e + r.Plate.EaseExtra.Millimetres()
}

// oversize returns how far the blank lies outside the finished line, mm.
func (r Recipe) oversize() float64 {
	d := r.Foam.Oversize.Millimetres()
	if r.Foam.OversizeMeasure == Overall {
		d /= 2
	}
	return d
}

// clearance returns how far the finished line lies inside the template at an edge
// of that name, mm. Unnamed edges (corners, notches) take that of the sides.
func (r Recipe) clearance(name shape.Name) float64 {
	d := r.Clearance.Sides
	switch name {
	case shape.BackEdge:
		d = r.Clearance.Back
	case shape.FrontEdge:
		d = r.Clearance.Front
	}
	return d.Millimetres() + r.pipingOutside()
}

// pipingOutside returns what the piping adds to each side of the finished pad, mm,
// where the pad must stay inside: the cord and its cloth.
func (r Recipe) pipingOutside() float64 {
	if !r.Piping.On || !r.Clearance.KeepInside {
		return 0
	}
	return r.Piping.Cord.Millimetres() + r.Piping.Cloth.Millimetres()
}

// allowance returns the seam allowance at an edge of that name, mm.
func (r Recipe) allowance(name shape.Name) float64 {
	own := r.Plate.SeamSides
	switch name {
	case shape.BackEdge:
		own = r.Plate.SeamBack
		if r.Opening.Close == ByHand && r.Plate.Hem.Set {
			own = r.Plate.Hem
		}
	case shape.FrontEdge:
		own = r.Plate.SeamFront
	case shape.Unnamed:
		own = Own{}
	}
	return own.Or(r.Plate.Seam).Millimetres()
}

// clearances returns how far each piece of the template moves outward (so none is
// above 0). Pieces that run smoothly into one another move by the same distance, the
// greatest of theirs, since the seam must not have a step: on a seat with rounded
// corners the whole outline keeps the greatest clearance.
func (l edged) clearances(r Recipe, named func(int) shape.Name, p Params) []float64 {
	n := l.path.Len()
	distances := make([]float64, n)
	for i := range distances {
		distances[i] = -r.clearance(named(l.edge[i]))
	}
	for range n { // as far as a chain of smooth joints can reach
		for i := range distances {
			h := (i + n - 1) % n
			if math.Abs(l.path.TurnAtJoint(i)) < p.CornerTurn {
				d := math.Min(distances[h], distances[i])
				distances[h], distances[i] = d, d
			}
		}
	}
	return distances
}

func (c CutCorner) join() curve.Join {
	switch c {
	case RoundedCut:
		return curve.JoinRound
	case TrimmedCut:
		return curve.JoinTrimmed
	}
	return curve.JoinMitre
}

// drawLines makes the nested lines of the pad.
func drawLines(s shape.Shape, r Recipe, p Params) (lines, error) {
	named := func(edge int) shape.Name {
		if edge < 0 {
			return shape.Unnamed
		}
		return s.Edges[edge].Name
	}
	var l lines
	var err error
	template := traced(s)
	if l.finished, err = template.grownByPiece(template.clearances(r, named, p), curve.JoinMitre, p.Tolerance); err != nil {
		return l, fmt.Errorf("taking off the clearance: %w", err)
	}
	if l.foam, err = l.finished.grown(evenly(r.oversize()), curve.JoinMitre, p.Tolerance); err != nil {
		return l, fmt.Errorf("drawing the foam blank: %w", err)
	}
	base, out, join, err := seamBase(l.finished, r, p)
	if err != nil {
		return l, fmt.Errorf("drawing the seam line: %w", err)
	}
	if l.seam, err = base.grown(evenly(out), join, p.Tolerance); err != nil {
		return l, fmt.Errorf("drawing the seam line: %w", err)
	}
	allow := func(e int) float64 { return r.allowance(named(e)) }
	if l.cut, err = cutLine(base, out, join, l.seam, allow, r, p); err != nil {
		return l, fmt.Errorf("drawing the cut line: %w", err)
	}
	return l, nil
}

// seamBase returns a line, how far outward of it the seam line lies, and how that
// goes round corners. Without a least radius it is the finished line and the ease.
// With one, it lies inside by the radius: going inward first and then outward round
// the corners rounds every convex corner and leaves gentler bends as they are (an
// opening by a disc of that radius; J. Serra, Image analysis and mathematical
// morphology, 1982).
func seamBase(finished edged, r Recipe, p Params) (base edged, out float64, join curve.Join, err error) {
	radius := r.Plate.SeamRadius.Millimetres()
	if radius == 0 {
		return finished, r.ease(), curve.JoinMitre, nil
	}
	base, err = finished.grown(evenly(r.ease()-radius), curve.JoinRound, p.Tolerance)
	return base, radius, curve.JoinRound, err
}

// cutLine draws the cut line straight from the seam's base, in one step, where that
// is the same as growing the seam line: a mitre of a mitre is a mitre, and round
// corners keep their centres. One step is nearer the truth and has fewer pieces.
// Corners that are trimmed or rounded about a sharp seam start from the seam line,
// and so does everything where the one step does not come out.
func cutLine(base edged, out float64, join curve.Join, seam edged, allow func(int) float64, r Recipe, p Params) (edged, error) {
	own := r.Plate.CutCorner.join()
	if join == curve.JoinRound || own == curve.JoinMitre {
		total := func(e int) float64 { return out + allow(e) }
		if cut, err := base.grown(total, join, p.Tolerance); err == nil {
			return cut, nil
		}
	}
	return seam.grown(allow, own, p.Tolerance)
}
