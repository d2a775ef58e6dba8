package sheet

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// pieceSides writes BACK, FRONT, LEFT and RIGHT, as the piece lies with its right
// side up.
func (p *pen) pieceSides(piece pad.Piece, inner curve.Path, free *room) {
	ring := inner.Flatten(0.2)
	b := inner.Bounds()
	centre := b.Centre()
	if !inner.Contains(centre) {
		return
	}
	size := partType(b)
	for _, s := range sidesOf(piece) {
		reach := distanceAlong(ring, centre, s.direction) - 2.2*size
		for ; reach > 3*size; reach -= 0.5 * size {
			t := Text{Words: s.words, Size: 1.2 * size, Anchor: Middle, Bold: true, At: centre.Add(s.direction.Scale(reach))}
			if s.direction.X != 0 {
				t.Angle = 90
				t.At.X += 0.4 * size
			} else {
				t.At.Y -= 0.4 * size
			}
			if box := t.Bounds().Grow(0.8); free.free(box) {
				p.text(t)
				free.take(box)
				break
			}
		}
	}
}

// leastPartType keeps the lines, set in 0.8 of it, at 7 pt.
const leastPartType = smallestBody / 0.8

// partType returns the size of type in mm for a piece that fills the box.
func partType(b plane.Rect) float64 {
	return math.Max(leastPartType, math.Min(7, math.Min(math.Max(b.Width(), b.Height())/40, math.Min(b.Width(), b.Height())/18)))
}

type sideWord struct {
	words     string
	direction plane.Vec
}

func sidesOf(piece pad.Piece) []sideWord {
	left, right := "LEFT", "RIGHT"
	if piece.Mirrored {
		left, right = right, left
	}
	back, front := sideWord{"BACK", plane.Vec{Y: 1}}, sideWord{"FRONT", plane.Vec{Y: -1}}
	l, r := sideWord{left, plane.Vec{X: -1}}, sideWord{right, plane.Vec{X: 1}}
	switch piece.Name {
	case "Main piece":
		return []sideWord{{"BACK, top", back.direction}, {"BACK, under", front.direction}, l, r}
	case "Left side":
		return []sideWord{{"TOP", back.direction}, {"BACK", l.direction}, {"FRONT", r.direction}}
	case "Right side":
		return []sideWord{{"TOP", back.direction}, {"FRONT", l.direction}, {"BACK", r.direction}}
	}
	if piece.FoldLine != nil {
		return []sideWord{back, front, l}
	}
	return []sideWord{back, front, l, r}
}

// arrows draws grain and nap: upright where the marks say, moved aside to leave the
// middle to the words. An arrow means the same anywhere on the piece.
func (p *pen) arrows(marks []pad.Mark, inner curve.Path, free *room) {
	b := inner.Bounds()
	for _, k := range marks {
		if k.Kind != pad.GrainArrow && k.Kind != pad.NapArrow {
			continue
		}
		words := "grain"
		if k.Kind == pad.NapArrow {
			words = "nap"
		}
		p.arrowSomewhere(k, b, words, free)
	}
}

// arrowSomewhere draws the arrow at the right of the box, higher or lower, or shorter,
// where that is free.
func (p *pen) arrowSomewhere(k pad.Mark, b plane.Rect, words string, free *room) {
	for _, shorter := range []float64{1, 0.6, 0.35} {
		k := k
		middle := k.From.Lerp(k.To, 0.5)
		k.From, k.To = middle.Lerp(k.From, shorter), middle.Lerp(k.To, shorter)
		for _, up := range []float64{0, 0.2, -0.2, 0.3, -0.3} {
			for _, share := range []float64{0.33, 0.28, 0.24, 0.2, 0.15, 0.1, 0, -0.1, -0.2, -0.3} {
				if p.arrowAt(k, b.Centre().Add(plane.Vec{X: share * b.Width(), Y: up * b.Height()}).Sub(middle), words, free) {
					return
				}
			}
		}
	}
}

func (p *pen) arrowAt(k pad.Mark, shift plane.Vec, words string, free *room) bool {
	from, to := k.From.Add(shift), k.To.Add(shift)
	head := math.Min(4, 0.2*from.DistanceTo(to))
	t := Text{Words: words, Size: math.Min(3.5, 0.25*from.DistanceTo(to)), Angle: 90, Anchor: Middle, At: from.Lerp(to, 0.5).Add(plane.Vec{X: -1.4})}
	box := plane.RectFromPoints(from, to).Grow(0.4 * head).Union(t.Bounds()).Grow(1)
	if !free.free(box) {
		return false
	}
	middle := from.Lerp(to, 0.5)
	p.arrow(GrainLine, middle, to, head)
	if k.Kind == pad.GrainArrow {
		p.arrow(GrainLine, middle, from, head)
	} else {
		p.line(GrainLine, from, middle)
	}
	p.text(t)
	free.take(box)
	return true
}

// words writes heading and lines as one block, as large as there is room for, near
// the middle of the piece. Where there is none for all, less is said: the rest stands
// on the sheet beside it and on the cut sheet.
func (p *pen) words(name, heading string, lines []string, inner curve.Path, free *room) {
	b := inner.Bounds()
	for ; ; lines = lines[:len(lines)-1] {
		for size := partType(b); size >= leastPartType; size *= 0.88 {
			for _, share := range []float64{0.55, 0.45, 0.65, 0.35, 0.8, 0.25} {
				block := wordBlock(name, heading, lines, size, share*b.Width())
				if centre, ok := free.nearest(block.bounds(), b.Centre()); ok {
					for _, t := range block.scaled(1, centre) {
						p.text(t)
					}
					free.take(block.scaled(1, centre).bounds().Grow(1))
					return
				}
			}
		}
		if len(lines) == 0 {
			return
		}
	}
}

// wordBlock sets the heading over the lines, centred, as a block of that name, no wider than width where words
// allow.
func wordBlock(name, heading string, lines []string, size, width float64) textBlock {
	head := Text{Words: heading, Size: 1.5 * size, Bold: true, Anchor: Middle, Block: "words-" + name}
	body := Text{Size: 0.8 * size, Anchor: Middle, Block: "words-" + name}
	block := textBlock{head}
	y := -1.7 * size
	for _, l := range lines {
		for _, words := range wrap(body, width, l) {
			body.Words, body.At = words, at(0, y)
			block = append(block, body)
			y -= 1.1 * size
		}
	}
	return block
}
