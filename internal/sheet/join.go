package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// join is where two pages meet: the second is cut along its border and laid on the
// dashed line of the first. All places are in the whole sheet's frame.
type join struct {
	first, second int         // indices of the pages
	from, to      plane.Point // ends of the line
	onto          plane.Vec   // unit, from the first page to the second
	marks         []plane.Point
}

// leastJoin is the shortest line that is marked, mm: a mark has room on it.
const leastJoin = 20.0

// joins returns all joins of the plan with the places of their marks, kept off the
// lines of the drawing and off the words, which lie on the pages as given.
func (p Plan) joins(s Sheet, texts [][]Item) []join {
	busy := newOccupancy(p.bounds())
	for _, item := range s.Items {
		if _, isText := item.(Text); !isText {
			busy.item(item, 0.5)
		}
	}
	for _, page := range texts {
		for _, t := range page {
			busy.item(t, 1)
		}
	}
	busy.total()
	var joins []join
	var marked []plane.Point
	for i, t := range p.Tiles {
		for k := i + 1; k < len(p.Tiles); k++ {
			j, meet := p.joinOf(t, p.Tiles[k])
			if !meet {
				continue
			}
			j.first, j.second = i, k
			j.place(busy, len(joins), marked)
			marked = append(marked, j.marks...)
			joins = append(joins, j)
		}
	}
	return joins
}

func (p Plan) joinOf(t, next Tile) (join, bool) {
	lo := at(math.Max(t.Shows.Min.X, next.Shows.Min.X), math.Max(t.Shows.Min.Y, next.Shows.Min.Y))
	hi := at(math.Min(t.Shows.Max.X, next.Shows.Max.X), math.Min(t.Shows.Max.Y, next.Shows.Max.Y))
	if lo.X > hi.X+1e-9 || lo.Y > hi.Y+1e-9 || next.Band > t.Band+1 || next.Band == t.Band && next.Number > t.Number+1 {
		return join{}, false
	}
	if (t.Band == next.Band) != p.Columns { // the next page lies to the right
		j := join{from: at(next.Shows.Min.X, lo.Y), to: at(next.Shows.Min.X, hi.Y), onto: plane.Vec{X: 1}}
		return j, hi.Y > lo.Y
	}
	j := join{from: at(lo.X, next.Shows.Max.Y), to: at(hi.X, next.Shows.Max.Y), onto: plane.Vec{Y: -1}}
	return j, hi.X > lo.X
}

// place chooses one place for marks, or two on a long join: near the quarters, where
// the least is drawn. The places of one join differ from those of the next, so that
// pages laid to a false neighbour do not match.
func (j *join) place(busy *occupancy, number int, marked []plane.Point) {
	long := j.from.DistanceTo(j.to)
	if long < leastJoin {
		return
	}
	wanted := []float64{0.5}
	if long > 110 {
		wanted = []float64{0.26, 0.74}
	}
	shift := float64(number*2%5-2) * 0.02
	along, across := markWide, markReach+1
	if j.onto.Y == 0 {
		along, across = markReach, markWide+4
	}
	for _, w := range wanted {
		best, bestCost := 0.5, math.Inf(1)
		for share := 0.02; share <= 0.98; share += 0.01 {
			q := j.from.Lerp(j.to, share)
			reach := j.onto.Scale(across).Add(j.onto.TurnLeft().Scale(along))
			cost := busy.count(plane.RectFromPoints(q.Add(reach), q.Add(reach.Neg()))) + 60*math.Abs(share-w-shift) +
				40*math.Max(0, along+1-math.Min(share, 1-share)*long)
			for _, other := range marked {
				cost += 30 * math.Max(0, 2*markWide+8-q.DistanceTo(other))
			}
			if cost < bestCost {
				best, bestCost = share, cost
			}
		}
		q := j.from.Lerp(j.to, best)
		j.marks = append(j.marks, q)
		marked = append(marked, q)
	}
}

// A join mark, mm. On the first page a fine line runs up to the join and two lie
// along it; on the second page two run away from it. The fine line must run between
// those two, and the cut edge must lie between the other two: each has 0.3 mm of play
// on either side.
const (
	diamond   = 4.0 // half its width
	markReach = 9.0
	markWide  = 18.0 // the words beside it
	gate      = 0.43 // from the middle to a line of 0.13 mm: 0.3 free beside one of 0.13
)

// showJoins draws the lines and marks of the page's joins, and a line along every side
// of the frame that is cut off.
func (p *tilePage) showJoins(joins []join) {
	p.cutSides(joins)
	for _, j := range joins {
		switch p.index {
		case j.first:
			p.line(JoinLine, p.place(j.from), p.place(j.to))
			p.cover(plane.RectFromPoints(j.from, j.to, j.from.Add(j.onto.Scale(p.plan.Tiling.Overlap.Millimetres()))))
		case j.second:
		default:
			continue
		}
		for k, q := range j.marks {
			p.joinMark(j, k, q)
		}
	}
}

func (p *tilePage) cutSides(joins []join) {
	left, top := false, false
	for _, j := range joins {
		if p.index == j.second {
			left, top = left || j.onto.X > 0, top || j.onto.Y < 0
		}
	}
	f := p.frame
	if left {
		p.line(Thin, f.Min, at(f.Min.X, f.Max.Y))
	}
	if top {
		p.line(Thin, at(f.Min.X, f.Max.Y), f.Max)
	}
}

func (p *tilePage) joinMark(j join, k int, place plane.Point) {
	first, second := p.plan.Tiles[j.first].Name(), p.plan.Tiles[j.second].Name()
	id := fmt.Sprintf("join-%s-%s-%d", first, second, k+1)
	q := p.place(place)
	along := j.onto.TurnLeft()
	ray := func(id string, from, to plane.Vec) {
		p.stroke(id, ScaleTick, curve.OpenPath(curve.Line(q.Add(from), q.Add(to))))
	}
	words, inSight := "cut here", j.onto
	if p.index == j.first {
		words, inSight = "lay "+second+" here", j.onto.Neg()
		ray(id, inSight.Scale(markReach), plane.Vec{})
		for _, side := range []float64{-1, 1} {
			ray("", along.Scale(side*5).Add(j.onto.Scale(gate)), along.Scale(side*markReach).Add(j.onto.Scale(gate)))
			ray("", along.Scale(side*5).Add(j.onto.Scale(-gate)), along.Scale(side*markReach).Add(j.onto.Scale(-gate)))
		}
	} else {
		ray(id+"-left", along.Scale(gate), inSight.Scale(markReach).Add(along.Scale(gate)))
		ray(id+"-right", along.Scale(-gate), inSight.Scale(markReach).Add(along.Scale(-gate)))
	}
	p.halfDiamond(q, inSight)
	p.markWords(q, inSight, first+"-"+second, words)
	p.busy.rect(plane.RectFromPoints(q.Add(along.Scale(markReach)), q.Add(along.Scale(-markReach)), q.Add(inSight.Scale(markReach))))
}

// halfDiamond draws the half of a diamond that lies on the side in sight, and a
// little of the other.
func (p *tilePage) halfDiamond(q plane.Point, inSight plane.Vec) {
	along := inSight.TurnLeft()
	p.stroke("", Thin, curve.OpenPath(
		curve.Line(q.Add(along.Scale(diamond)), q.Add(inSight.Scale(diamond))),
		curve.Line(q.Add(inSight.Scale(diamond)), q.Add(along.Scale(-diamond)))))
}

// markWords writes the names of both pages, and what to do, beside the fine lines.
func (p *tilePage) markWords(q plane.Point, inSight plane.Vec, names, words string) {
	name := Text{Words: names, Size: 3, Bold: true}
	do := Text{Words: words, Size: 2.4}
	switch {
	case inSight.X > 0:
		name.At, do.At = q.Add(plane.Vec{X: 4.6, Y: 1.4}), q.Add(plane.Vec{X: 4.6, Y: -3})
	case inSight.X < 0:
		name.At, do.At = q.Add(plane.Vec{X: -4.6, Y: 1.4}), q.Add(plane.Vec{X: -4.6, Y: -3})
		name.Anchor, do.Anchor = End, End
	case inSight.Y > 0:
		name.At, do.At = q.Add(plane.Vec{X: -1.4, Y: 5}), q.Add(plane.Vec{X: 1.4, Y: 5})
		name.Anchor = End
	default:
		name.At, do.At = q.Add(plane.Vec{X: -1.4, Y: -7.2}), q.Add(plane.Vec{X: 1.4, Y: -7.2})
		name.Anchor = End
	}
	for _, t := range []Text{name, do} {
		p.text(t)
		p.busy.rect(t.Bounds())
	}
}
