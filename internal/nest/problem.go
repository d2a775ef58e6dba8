package nest

import "fairedge/internal/plane"

// Problem is what has to be laid on what. All lengths are in mm.
type Problem struct {
	// Width of the cloth or sheet, across (y).
	Width float64
	// SheetLength is the length of one sheet along x; 0 means cloth from the roll.
	SheetLength float64
	// Buffer is the least distance between two pieces, EdgeBuffer between a piece and
	// any edge of the cloth or sheet, both ends included.
	Buffer, EdgeBuffer float64
	Items              []Item
	// Fixed pieces lie already and stay: their items' demand does not count them.
	Fixed []Placement
}

// Item is one outline, wanted Demand times.
type Item struct {
	Name string
	// Outline is simple (no edge crosses another), in either direction, closed by
	// itself.
	Outline []plane.Point
	Demand  int
	// Turns are the allowed turns, counter-clockwise in degrees; none means 0 only.
	Turns []float64
	// Flip allows the piece to be laid face down (mirrored) as well.
	Flip bool
	// Repeat, when not nil, ties the piece to the pattern of the cloth.
	Repeat *Repeat
}

// Repeat ties a reference point of a piece to the lattice of a printed or woven
// pattern, so that the same motif lies at the same place of every piece.
type Repeat struct {
	// Reference is the point of the outline's own coordinates that must fall on the
	// pattern, say the middle of the seat.
	Reference plane.Point
	// Along is the period along the cloth and AlongOffset the first place of the
	// motif; 0 leaves the piece free along.
	Along, AlongOffset float64
	// Across is the period across the cloth, likewise.
	Across, AcrossOffset float64
	// HalfDrop moves every other column of motifs by half the period along.
	HalfDrop bool
}

// Placement says where one piece lies: the outline, mirrored (x to -x) when Flipped,
// turned by Degrees counter-clockwise about its own origin, rounded to whole
// nanometres, then moved by At (whole nanometres as well) on its sheet.
type Placement struct {
	Item    int // index in Problem.Items
	Degrees float64
	Flipped bool
	Sheet   int // 0 for cloth from the roll
	At      plane.Vec
}

// Result is a lay without overlap.
type Result struct {
	Placements []Placement // in order of items; the fixed ones last
	// Sheets used, and the length used on the last one (on the roll: in all), mm.
	Sheets     int
	UsedLength float64
	// Density is the area of all pieces over the area used: full sheets, and width
	// times used length of the last.
	Density float64
	// RowsLength and FillLength are the lengths of the simple lays that this one had
	// to beat, in rows and by bottom-left fill, full sheets counted as SheetLength.
	RowsLength, FillLength float64
	// Work done, in evaluations of a piece at a place.
	Work int64
	// Stopped says that the context ended the search before its work was done.
	Stopped bool
}

// Outline returns the outline of a placement where it lies on its sheet, mm.
func (p *Problem) Outline(at Placement) []plane.Point {
	points := turned(nmPoints(p.Items[at.Item].Outline), at.Degrees, at.Flipped)
	out := make([]plane.Point, len(points))
	for i, v := range points {
		out[i] = plane.Point{X: fromNM(v.x + toNM(at.At.X)), Y: fromNM(v.y + toNM(at.At.Y))}
	}
	return out
}

func nmPoints(points []plane.Point) []vec {
	out := make([]vec, len(points))
	for i, p := range points {
		out[i] = vec{toNM(p.X), toNM(p.Y)}
	}
	return out
}

// ItemArea returns the area of all wanted and fixed pieces, in mm².
func (p *Problem) ItemArea() float64 {
	total := 0.0
	for _, item := range p.Items {
		total += float64(item.Demand) * outlineArea(item.Outline)
	}
	for _, f := range p.Fixed {
		total += outlineArea(p.Items[f.Item].Outline)
	}
	return total
}

// outlineArea returns the area of an outline of either direction, mm².
func outlineArea(points []plane.Point) float64 {
	sum := 0.0
	for i, p := range points {
		q := points[(i+1)%len(points)]
		sum += p.Sub(points[0]).Cross(q.Sub(points[0]))
	}
	return max(sum, -sum) / 2
}
