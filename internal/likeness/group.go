package likeness

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Group is what several chairs have in common, in the frame of the first.
type Group struct {
	Mean     curve.Path // half-way: the mean of all along the mean's own normals
	Envelope curve.Path // the smallest outline that covers all
	Core     curve.Path // the largest that lies inside all
	// Members has how each outline was laid on the mean.
	Members []Motion
	// Spread is the greatest distance between core and envelope, mm, before they were moved.
	Spread float64
	// Excess is how much farther out than need be the envelope was moved to be sure to cover
	// all, and how much farther in the core, mm.
	Excess float64
}

// groupSpacing is the distance in mm of the places where the outlines are compared. Wider:
// corners are cut by up to it; closer: slower.
const groupSpacing = 0.5

// groupReach is how far from the mean, in mm, another outline is looked for. Larger: a ray
// may meet the far side of a notch; smaller: chairs that differ more have no mean.
const groupReach = 25.0

// groupRounds is how often mean and laying are improved by turns.
const groupRounds = 2

// GroupOf returns mean, envelope and core of outlines that are much alike: within some
// millimetres, as the chairs of a set are. The outlines are laid on each other first.
func GroupOf(outlines []curve.Path, o Options) (Group, error) {
	if len(outlines) == 0 {
		return Group{}, fmt.Errorf("grouping chairs: there are none")
	}
	g := Group{Mean: outlines[0], Members: make([]Motion, len(outlines))}
	for round := range groupRounds {
		if err := g.lay(outlines, o); err != nil {
			return Group{}, err
		}
		offsets, err := g.offsets(outlines)
		if err != nil {
			return Group{}, err
		}
		if round == groupRounds-1 {
			return g, g.borders(outlines, offsets)
		}
		g.Mean = offsets.fitted(mean)
	}
	return g, nil
}

// lay registers every outline on the mean.
func (g *Group) lay(outlines []curve.Path, o Options) error {
	for i, p := range outlines {
		r, err := Register(p, g.Mean, o)
		if err != nil {
			return fmt.Errorf("chair %d: %w", i+1, err)
		}
		g.Members[i] = r.FixedFromMoved
	}
	return nil
}

// ray is a place on the mean, the direction out of it, and how far out along it each
// member lies, mm.
type ray struct {
	from plane.Point
	out  plane.Vec
	at   []float64
}

type rays []ray

// offsets looks from the mean along its normals for every member. The normals are averaged
// over some millimetres, so that they fan out round a corner instead of leaving a gap.
func (g *Group) offsets(outlines []curve.Path) (rays, error) {
	corners := newChords(g.Mean, flatness).at
	_, around := evenly(corners, 1)
	n := max(int(around/groupSpacing), 256)
	points, _ := evenly(corners, n)
	all := make(rays, n)
	for i, p := range points {
		all[i] = ray{from: p, out: fan(points, i), at: make([]float64, len(outlines))}
	}
	for k, p := range outlines {
		member := newChords(g.Members[k].Path(p), flatness)
		for i := range all {
			d, found := member.along(all[i].from, all[i].out)
			if !found {
				at := all[i].from
				return nil, fmt.Errorf("chair %d differs by more than %g mm from the others at the %s", k+1, groupReach, Place(g.Mean, at))
			}
			all[i].at[k] = d
		}
	}
	return all, nil
}

// fanHalf is the half length in mm of outline over which normals are averaged: rays cross
// only where outlines lie farther apart than that.
const fanHalf = 10.0

func fan(points []plane.Point, i int) plane.Vec {
	w := int(fanHalf / groupSpacing)
	n := len(points)
	return points[(i+w)%n].Sub(points[(i-w+n)%n]).TurnRight().Unit()
}

// along returns how far from p along the direction the outline crosses the line through p,
// the nearest crossing to either side.
func (c *chords) along(p plane.Point, out plane.Vec) (distance float64, found bool) {
	best := groupReach
	for i := range c.at {
		a, b := c.chord(i)
		sa, sb := out.Cross(a.Sub(p)), out.Cross(b.Sub(p))
		if sa > 0 == (sb > 0) {
			continue
		}
		t := sa / (sa - sb)
		if d := out.Dot(a.Lerp(b, t).Sub(p)); math.Abs(d) < math.Abs(best) {
			best, found = d, true
		}
	}
	return best, found
}

// fitted returns the outline through the points at the chosen distance on each ray.
func (r rays) fitted(choose func(at []float64) float64) curve.Path {
	points := make([]plane.Point, len(r))
	for i, y := range r {
		points[i] = y.from.Add(y.out.Scale(choose(y.at)))
	}
	return closedThrough(points)
}

func mean(d []float64) float64 {
	sum := 0.0
	for _, x := range d {
		sum += x
	}
	return sum / float64(len(d))
}

func least(d []float64) float64 {
	best := d[0]
	for _, x := range d {
		best = math.Min(best, x)
	}
	return best
}

func greatest(d []float64) float64 {
	best := d[0]
	for _, x := range d {
		best = math.Max(best, x)
	}
	return best
}

// borders makes mean, envelope and core, and moves the last two as far out and in as it
// takes to be sure of every member.
func (g *Group) borders(outlines []curve.Path, offsets rays) error {
	g.Mean, g.Envelope, g.Core = offsets.fitted(mean), offsets.fitted(greatest), offsets.fitted(least)
	g.Spread = measure(g.Envelope, g.Core, newChords(g.Envelope, flatness), newChords(g.Core, flatness)).max
	members := make([]curve.Path, len(outlines))
	for i, p := range outlines {
		members[i] = g.Members[i].Path(p)
	}
	var err error
	if g.Envelope, err = g.moved(g.Envelope, members, 1); err != nil {
		return err
	}
	g.Core, err = g.moved(g.Core, members, -1)
	return err
}

// sureness is what is added, in mm, to the way that the border is moved: what the places
// looked at may have missed.
const sureness = 0.01

// moved moves the border outward (side 1) or inward (-1) by what members stand out on the
// wrong side of it.
func (g *Group) moved(border curve.Path, members []curve.Path, side float64) (curve.Path, error) {
	grid := newChords(border, flatness)
	worst := 0.0
	for _, m := range members {
		corners := newChords(m, flatness).at
		_, around := evenly(corners, 1)
		points, _ := evenly(corners, max(int(around/groupSpacing), 256))
		for _, p := range append(points, corners...) {
			if border.Contains(p) == (side < 0) {
				worst = math.Max(worst, grid.nearest(p).dist)
			}
		}
	}
	if worst == 0 {
		return border, nil
	}
	g.Excess = math.Max(g.Excess, worst+sureness)
	out, err := border.OffsetOutline(curve.Uniform(side*(worst+sureness)), flatness)
	if err != nil {
		return border, fmt.Errorf("moving the border of the group by %.2f mm: %w", worst, err)
	}
	return out.Path, nil
}
