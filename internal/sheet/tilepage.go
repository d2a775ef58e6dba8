package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// tilePage draws one page of a plan. It is laid out as it is read, the drawing
// upright; only sheet turns it onto the paper.
//
//	+---------------+    Two neighbours show the same overlap. The page to the
//	|         :     |    right, and the one below, is cut along its frame and laid
//	|    A1   :<    |    on the dashed line of the other; the marks on the line
//	|         :     |    then complete one another.
//	|.........:.....|
//	+---------------+
type tilePage struct {
	pen
	plan  Plan
	index int
	free  plane.Rect // what may be printed on
	frame plane.Rect // what shows the drawing
	shift plane.Vec  // of the drawing
	busy  *occupancy
}

func newTilePage(plan Plan, i int) *tilePage {
	t := plan.Tiles[i]
	across, up := plan.reading(t)
	p := &tilePage{plan: plan, index: i, free: plane.Rect{Max: at(across, up)}.Grow(-plan.Tiling.Margin.Millimetres())}
	p.shift = at(p.free.Min.X, p.free.Max.Y).Sub(at(t.Shows.Min.X, t.Shows.Max.Y))
	p.frame = plane.Rect{Min: t.Shows.Min.Add(p.shift), Max: t.Shows.Max.Add(p.shift)}
	p.busy = newOccupancy(p.free)
	p.busy.item(Stroke{Path: rectangle(p.frame)}, 1)
	return p
}

// place carries a place of the whole drawing to the page.
func (p *tilePage) place(q plane.Point) plane.Point { return q.Add(p.shift) }

// cover marks what a neighbour will be laid over.
func (p *tilePage) cover(whole plane.Rect) {
	p.busy.rect(plane.Rect{Min: p.place(whole.Min), Max: p.place(whole.Max)})
}

func (p *tilePage) showDrawing(items []Item) {
	for _, item := range items {
		item = moved(item, plane.RigidFromAngle(0, p.shift))
		p.items = append(p.items, item)
		p.busy.item(item, 1.2)
	}
}

func (p *tilePage) sheet(title string) Sheet {
	t := p.plan.Tiles[p.index]
	turn := p.plan.paperFromReading(t)
	s := Sheet{Width: p.plan.Paper.Width, Height: p.plan.Paper.Height, Title: fmt.Sprintf("%s, page %s", title, t.Name())}
	for _, item := range p.items {
		s.Items = append(s.Items, moved(item, turn))
	}
	return s
}

// moved returns the item carried by the motion.
func moved(item Item, motion plane.Rigid) Item {
	switch item := item.(type) {
	case Stroke:
		item.Path = item.Path.Transform(motion)
		return item
	case Area:
		paths := make([]curve.Path, len(item.Paths))
		for i, p := range item.Paths {
			paths[i] = p.Transform(motion)
		}
		item.Paths = paths
		return item
	case Text:
		item.At = motion.Apply(item.At)
		item.Angle += motion.Angle() * 180 / math.Pi
		return item
	}
	return item
}

// Moved returns the item carried by the vector, mm.
func Moved(item Item, by plane.Vec) Item { return moved(item, plane.RigidFromAngle(0, by)) }
