package likeness

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

// Comparison is one seat against another. The first lies still; all places are in its seat
// frame.
type Comparison struct {
	AsLaid  Apart // both lying with the middles of their backs on each other
	BestFit Apart // the second laid where it is nearest
}

// Apart is how two outlines differ as they lie.
type Apart struct {
	FirstFromSecond Motion       // how the second was laid
	Second          curve.Path   // there
	Differences     []Difference // along the first, every two millimetres or so, in order
	RMS, Max        float64      // of both outlines from each other, mm
	MaxAt           plane.Point  // on the first
	MaxOutside      bool         // the second lies outside of the first there
	Mean            float64      // of the signed differences along the first, mm: positive, the second is larger
}

// Compare measures two seats against each other, as laid by their backs and as they fit
// best under the options.
func Compare(first, second shape.Shape, o Options) (Comparison, error) {
	r, err := Register(second.Net, first.Net, o)
	if err != nil {
		return Comparison{}, fmt.Errorf("comparing two seats: %w", err)
	}
	return Comparison{AsLaid: apart(first.Net, second.Net, Unmoved()), BestFit: apart(first.Net, second.Net, r.FixedFromMoved)}, nil
}

func apart(first, second curve.Path, m Motion) Apart {
	out := Apart{FirstFromSecond: m, Second: m.Path(second)}
	still, other := newChords(first, flatness), newChords(out.Second, flatness)
	d := measure(out.Second, first, other, still)
	out.RMS, out.Max, out.MaxAt, out.MaxOutside = d.rms, d.max, d.maxAt, d.maxOutside
	_, around := evenly(still.at, 1)
	points, _ := evenly(still.at, min(max(int(around/lookSpacing), 128), 8192))
	for i, p := range points {
		f := other.nearest(p)
		signed := f.dist
		if !out.Second.Contains(p) {
			signed = -f.dist
		}
		out.Differences = append(out.Differences, Difference{p, f.at, signed, around * float64(i) / float64(len(points))})
		out.Mean += signed / float64(len(points))
	}
	return out
}

// Place says in a maker's words where on a seat a point of its outline is: "front left",
// "back", "right".
func Place(net curve.Path, p plane.Point) string {
	b := net.Bounds()
	third := func(x, least, size float64, low, high string) string {
		switch share := (x - least) / size; {
		case share < 1.0/3:
			return low
		case share > 2.0/3:
			return high
		}
		return ""
	}
	across := third(p.X, b.Min.X, b.Width(), "left", "right")
	deep := third(p.Y, b.Min.Y, b.Height(), "front", "back")
	switch {
	case across == "" && deep == "":
		return "middle"
	case across == "" || deep == "":
		return deep + across
	}
	return deep + " " + across
}

// Sentence says how far the outlines are apart as a maker would: "0.7 mm apart at most, at
// the front left, where the second is larger".
func (a Apart) Sentence(first curve.Path) string {
	if a.Max < 0.05 {
		return "the same within 0.05 mm"
	}
	side := "smaller"
	if a.MaxOutside {
		side = "larger"
	}
	return fmt.Sprintf("%.1f mm apart at most, at the %s, where the second is %s; %.1f mm on average (rms)",
		a.Max, Place(first, a.MaxAt), side, math.Max(a.RMS, 0))
}
