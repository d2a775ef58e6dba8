package laysheet

import (
	"fmt"
	"math"
	"strings"

	"fairedge/internal/cloth"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// The greys of the picture: light enough for words on them, dark enough to tell.
var (
	pieceGrey    = sheet.Ink{R: 232, G: 232, B: 232}
	selvedgeGrey = sheet.Ink{R: 190, G: 190, B: 190}
)

// picture draws one stretch of the cloth on one page.
type picture struct {
	*page
	laid     *cloth.Laid
	scale    float64 // 1 : scale
	from, to float64 // of the cloth, mm from the squared line
	corner   plane.Point
}

// clothPages returns the pictures: at one scale that fits the width beside the words, on
// as many pages as the length takes.
func clothPages(laid *cloth.Laid, h Heading) []sheet.Sheet {
	probe := newPage(h, "", "")
	width := laid.Cloth.Width.Millimetres()
	scale := scaleFor(width, probe.free.Width()-leftRoom-gapToWords-leastWords)
	room := (probe.free.Height() - footRoom) * scale
	from, end := -laid.Cloth.Squaring.Millimetres(), clothEnd(laid)
	pages := max(1, int(math.Ceil((end-from)/room-1e-9)))
	var all []sheet.Sheet
	for i := range pages {
		title := "lay on cloth"
		if pages > 1 {
			title = fmt.Sprintf("lay on cloth, %d of %d", i+1, pages)
		}
		aside := fmt.Sprintf("%s. Cloth %s wide, %s. The start is at the foot of the page.", scaleWords(scale), both(laid.Cloth.Width), layers(laid))
		p := &picture{page: newPage(h, title, aside), laid: laid, scale: scale,
			from: from + float64(i)*room, to: math.Min(end, from+float64(i+1)*room)}
		p.corner = at(p.free.Min.X+leftRoom, p.free.Min.Y+footRoom)
		p.draw(i == 0)
		all = append(all, p.sheet())
	}
	return all
}

// clothEnd is where the drawn cloth ends: what is bought, or what is there.
func clothEnd(laid *cloth.Laid) float64 {
	end := laid.Buy
	if e := laid.Enough; e != nil {
		end = max(e.Have, laid.Needed)
	}
	return (end - laid.Cloth.Squaring).Millimetres()
}

func layers(laid *cloth.Laid) string {
	if laid.Cloth.Fold {
		return "folded lengthwise (drawn opened)"
	}
	return "single layer, right side up"
}

// on returns the place on the page of a point of the cloth.
func (p *picture) on(q plane.Point) plane.Point {
	return p.corner.Add(plane.Vec{X: q.X / p.scale, Y: (q.Y - p.from) / p.scale})
}

// within reports whether a height of the cloth is on this page.
func (p *picture) within(y float64) bool { return y >= p.from-1e-6 && y <= p.to+1e-6 }

func (p *picture) draw(first bool) {
	p.drawCloth()
	for _, piece := range p.laid.Pieces {
		p.drawPiece(piece)
	}
	p.drawMotifs()
	for _, l := range p.laid.Left {
		p.drawLeftOver(l)
	}
	p.drawDimensions(first)
	if first {
		p.drawWords()
	}
}

// drawCloth draws the outline, the selvedges, the squared line, the fold.
func (p *picture) drawCloth() {
	w, s := p.laid.Cloth.Width.Millimetres(), p.laid.Cloth.Selvedge.Millimetres()
	for _, x := range [][2]float64{{0, s}, {w - s, w}} {
		if s > 0 {
			p.fill(selvedgeGrey, p.on(at(x[0], p.from)), p.on(at(x[1], p.from)), p.on(at(x[1], p.to)), p.on(at(x[0], p.to)))
		}
	}
	p.line(sheet.Thin, p.on(at(0, p.from)), p.on(at(0, p.to)))
	p.line(sheet.Thin, p.on(at(w, p.from)), p.on(at(w, p.to)))
	if p.from <= -p.laid.Cloth.Squaring.Millimetres()+1e-6 {
		p.line(sheet.Thin, p.on(at(0, p.from)), p.on(at(w, p.from)))
		p.line(sheet.TrimGuide, p.on(at(0, 0)), p.on(at(w, 0)))
	}
	if p.to >= clothEnd(p.laid)-1e-6 {
		p.line(sheet.Thin, p.on(at(0, p.to)), p.on(at(w, p.to)))
	}
	if last := (p.laid.Needed - 2*p.laid.Cloth.Squaring).Millimetres(); p.within(last) {
		p.line(sheet.TrimGuide, p.on(at(0, last)), p.on(at(w, last)))
	}
	p.drawShort()
	for _, r := range p.laid.Regions {
		if lo, hi := math.Max(r.From, p.from), math.Min(r.To, p.to); r.Folded && hi > lo {
			p.line(sheet.CentreLine, p.on(at(w/2, lo)), p.on(at(w/2, hi)))
			p.text(sheet.Text{At: p.on(at(w/2, (lo+hi)/2)).Add(plane.Vec{X: -0.8}), Words: "FOLD", Size: 2.2, Angle: 90, Anchor: sheet.Middle})
		}
	}
}

// drawShort shows where the length at hand ends when it is too short.
func (p *picture) drawShort() {
	e := p.laid.Enough
	if e == nil || e.Over >= 0 {
		return
	}
	y := (e.Have - p.laid.Cloth.Squaring).Millimetres()
	if !p.within(y) {
		return
	}
	from, to := p.on(at(0, y)), p.on(at(p.laid.Cloth.Width.Millimetres(), y))
	p.line(sheet.FoldLine, from.Add(plane.Vec{X: -2}), to.Add(plane.Vec{X: gapToWords - 1}))
	// Upright along the selvedge: level it would run into the column of words.
	p.text(sheet.Text{At: to.Add(plane.Vec{X: 3, Y: 1}), Words: "yours ends here", Size: 2.2, Angle: 90})
}

// drawPiece draws a piece, and thinly what is cut with it from the other layer.
func (p *picture) drawPiece(piece cloth.Placed) {
	outline := p.laid.Outline(piece)
	if b := plane.RectFromPoints(outline...); b.Max.Y < p.from || b.Min.Y > p.to {
		return
	}
	p.drawOutline(outline, sheet.Notch, true)
	if piece.Folded && !piece.SpareTwin {
		twin := p.laid.TwinOutline(piece)
		p.drawOutline(twin, sheet.TrimGuide, false)
		if c := plane.RectFromPoints(twin...).Centre(); p.within(c.Y) && !p.laid.Parts[piece.Part].Strip {
			p.text(sheet.Text{At: p.on(c), Words: p.laid.Parts[piece.Twin].Name, Size: 2.2, Anchor: sheet.Middle})
			p.text(sheet.Text{At: p.on(c).Add(plane.Vec{Y: -3}), Words: fmt.Sprintf("cut with %d", piece.Number), Size: 2.2, Anchor: sheet.Middle})
		}
	}
	if p.laid.Parts[piece.Part].Strip {
		p.nameStrip(piece, outline)
		return
	}
	p.namePiece(piece, outline)
}

// drawOutline draws what of the outline is on the page.
func (p *picture) drawOutline(outline []plane.Point, role sheet.Role, filled bool) {
	clipped := clip(clip(outline, p.from, true), p.to, false)
	if filled {
		var on []plane.Point
		for _, q := range clipped {
			on = append(on, p.on(q))
		}
		p.fill(pieceGrey, on...)
	}
	for i, q := range clipped {
		r := clipped[(i+1)%len(clipped)]
		if cut := q.Y == r.Y && (q.Y == p.from || q.Y == p.to); !cut {
			p.line(role, p.on(q), p.on(r))
		}
	}
}

// clip returns what of the polygon lies above a height, or below it.
func clip(polygon []plane.Point, y float64, above bool) []plane.Point {
	inside := func(q plane.Point) bool { return q.Y == y || (q.Y > y) == above }
	var out []plane.Point
	for i, q := range polygon {
		r := polygon[(i+1)%len(polygon)]
		if inside(q) {
			out = append(out, q)
		}
		if inside(q) != inside(r) && q.Y != y && r.Y != y {
			out = append(out, at(q.X+(y-q.Y)/(r.Y-q.Y)*(r.X-q.X), y))
		}
	}
	return out
}

// namePiece writes number and name in the middle and the places at the chalk points.
func (p *picture) namePiece(piece cloth.Placed, outline []plane.Point) {
	part := p.laid.Parts[piece.Part]
	b := plane.RectFromPoints(outline...)
	if math.Min(b.Width(), b.Height())/p.scale < leastNamed {
		p.nameSmall(piece, b)
		return
	}
	wide := 0.8 * b.Width() / p.scale
	if a := piece.First; math.Abs(b.Centre().X-a.Across.Millimetres()) > math.Abs(b.Centre().Y-a.Along.Millimetres()) {
		wide = 0.52 * b.Width() / p.scale // the places stand along the sides
	}
	if c := b.Centre(); p.within(c.Y) {
		middle := p.on(c)
		if p.laid.Motif != nil {
			middle.Y += 2 // clear of the motif's cross
		}
		p.text(sheet.Text{At: middle.Add(plane.Vec{Y: 0.6}), Words: fmt.Sprint(piece.Number), Size: 5.5, Bold: true, Anchor: sheet.Middle})
		if t, ok := smaller(sheet.Text{At: p.on(c).Add(plane.Vec{Y: -2.8}), Words: copyName(part, piece), Size: 2.6, Anchor: sheet.Middle}, wide, leastType); ok {
			p.text(t)
		}
		if t, ok := smaller(sheet.Text{At: p.on(c).Add(plane.Vec{Y: -5.8}), Words: piece.Turn, Size: 2.2, Anchor: sheet.Middle}, wide, leastType); ok {
			p.text(t)
		}
	}
	p.chalk(piece.First, b, wide)
	p.chalk(piece.Second, b, wide)
}

// leastNamed is the side of a drawn piece, mm, below which it has no room for its places:
// they stand in the list.
const leastNamed = 24.0

// nameSmall writes number and name along the longer side of a small piece.
func (p *picture) nameSmall(piece cloth.Placed, b plane.Rect) {
	p.crossAt(piece.First)
	p.crossAt(piece.Second)
	c := b.Centre()
	if !p.within(c.Y) {
		return
	}
	long, thick := b.Width()/p.scale, b.Height()/p.scale
	t := sheet.Text{Words: fmt.Sprintf("%d  %s", piece.Number, copyName(p.laid.Parts[piece.Part], piece)), Anchor: sheet.Middle}
	shift := plane.Vec{Y: -1}
	if thick > long {
		long, thick = thick, long
		t.Angle, shift = 90, plane.Vec{X: 1}
	}
	t.Size = math.Min(2.6, 0.6*thick)
	if _, ok := smaller(t, 0.9*long, leastType); !ok {
		t.Words = fmt.Sprint(piece.Number)
	}
	t, _ = smaller(t, 0.9*long, 0)
	t.At = p.on(c).Add(shift.Scale(0.35 * t.Size))
	p.text(t)
}

// crossAt marks a point to chalk where it is on the page.
func (p *picture) crossAt(c cloth.Chalk) {
	if q := at(c.Across.Millimetres(), c.Along.Millimetres()); p.within(q.Y) {
		p.cross(p.on(q))
	}
}

// copyName names one of several.
func copyName(part cloth.Part, piece cloth.Placed) string {
	if part.Count > 1 {
		return fmt.Sprintf("%s %d", part.Name, piece.Copy)
	}
	return part.Name
}

// chalk draws a point to chalk with its two distances, inside the piece.
func (p *picture) chalk(c cloth.Chalk, b plane.Rect, wide float64) {
	q := at(c.Across.Millimetres(), c.Along.Millimetres())
	if !p.within(q.Y) {
		return
	}
	place := p.on(q)
	p.cross(place)
	// The words stand inside the piece: below or above the point, or turned along the
	// side where the point lies.
	inward := b.Centre().Sub(q)
	t := sheet.Text{Size: 2.1, Anchor: sheet.Middle, At: place.Add(plane.Vec{Y: -3.2})}
	next := plane.Vec{Y: -2.5}
	switch {
	case math.Abs(inward.X) > math.Abs(inward.Y):
		t.Angle, t.At, next = 90, place.Add(plane.Vec{X: 3.2}), plane.Vec{X: 2.5}
		if inward.X < 0 {
			t.At = place.Add(plane.Vec{X: -4})
		}
		wide = 0.8 * b.Height() / p.scale
	case inward.Y > 0:
		t.At = place.Add(plane.Vec{Y: 4})
	}
	for _, words := range []string{"up " + both(c.Along), "in " + both(c.Across)} {
		t.Words = words
		if fit, ok := smaller(t, wide, leastType); ok {
			p.text(fit)
		}
		t.At = t.At.Add(next)
	}
}

// nameStrip writes number and name along a strip.
func (p *picture) nameStrip(piece cloth.Placed, outline []plane.Point) {
	part := p.laid.Parts[piece.Part]
	a, b, c := outline[0], outline[1], outline[3]
	centre := a.Lerp(outline[2], 0.5)
	if !p.within(centre.Y) {
		return
	}
	along := b.Sub(a)
	if along.X < -1e-6 || math.Abs(along.X) <= 1e-6 && along.Y < 0 {
		along = along.Neg()
	}
	thick := math.Abs(along.Unit().Cross(c.Sub(a))) / p.scale
	long := along.Length() / p.scale
	t := sheet.Text{Words: fmt.Sprintf("%d  %s", piece.Number, copyName(part, piece)), Size: math.Min(2.4, 0.8*thick),
		Angle: math.Atan2(along.Y, along.X) * 180 / math.Pi, Anchor: sheet.Middle}
	if _, ok := smaller(t, 0.95*long, 0.9*leastType); !ok {
		t.Words = fmt.Sprint(piece.Number)
	}
	t, _ = smaller(t, 0.95*long, 0)
	t.At = p.on(centre).Add(along.Unit().TurnLeft().Scale(-0.35 * t.Size))
	p.text(t)
	p.crossAt(piece.First)
}

func (p *picture) drawLeftOver(l cloth.LeftOver) {
	c := l.At.Centre()
	if !p.within(c.Y) {
		return
	}
	words := strings.SplitN(l.Words, " beside", 2)[0]
	words = strings.TrimSuffix(words, " at the end")
	t := sheet.Text{Words: "left " + words, Size: 2.1, Anchor: sheet.Middle}
	if l.At.Height() > l.At.Width() {
		t.Angle = 90
	}
	if fit, ok := smaller(t, 0.95*math.Max(l.At.Width(), l.At.Height())/p.scale, leastType); ok {
		shift := plane.Vec{Y: -0.35 * fit.Size}
		if fit.Angle != 0 {
			shift = plane.Vec{X: 0.35 * fit.Size}
		}
		fit.At = p.on(c).Add(shift)
		p.text(fit)
	}
}
