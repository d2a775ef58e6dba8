package sheet

import (
	"math"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// PadWhole returns one sheet as large as the part, over a strip with the job, the
// scale bars and the meaning of the lines and marks: for a plotter.
func PadWhole(part PadPart, label Label) Sheet {
	s := part.strip(label, stripWords-20, bodySize)
	p := &pen{}
	b := part.Bounds()
	base := s.height() + 2*wholeMargin
	width := math.Max(stripBars+stripWords+stripLines, b.Width())
	p.items = append(p.items, part.moved(plane.Vec{X: wholeMargin + (width-b.Width())/2 - b.Min.X, Y: base - b.Min.Y})...)
	s.draw(p, at(wholeMargin, wholeMargin))
	return Sheet{
		Width:  length.Length(math.Ceil(width + 2*wholeMargin)),
		Height: length.Length(math.Ceil(base + b.Height() + wholeMargin)),
		Title:  part.title(label), Items: p.items,
	}
}

func (p PadPart) title(label Label) string {
	if label.Job == "" {
		return p.Name
	}
	return label.Job + ": " + p.Name
}

// strip returns the words and the legend of the part.
func (p PadPart) strip(label Label, wordsWidth, size float64) strip {
	s := strip{size: size, legend: p.roles, marks: p.kinds}
	s.heading = wrap(s.headingText(), wordsWidth, p.title(label))
	for _, sentence := range append(append([]string{}, p.Says...), label.sentences(nil)...) {
		s.body = append(s.body, wrap(s.bodyText(), wordsWidth, sentence)...)
	}
	return s
}

// moved returns the part's items carried by the vector.
func (p PadPart) moved(by plane.Vec) []Item {
	motion := plane.RigidFromAngle(0, by)
	items := make([]Item, len(p.Items))
	for i, item := range p.Items {
		items[i] = moved(item, motion)
	}
	return items
}

// turned returns the part turned a quarter to the left.
func (p PadPart) turned() PadPart {
	motion := plane.RigidFromAngle(math.Pi/2, plane.Vec{})
	motion.Cos = 0 // exactly
	items := make([]Item, len(p.Items))
	for i, item := range p.Items {
		items[i] = moved(item, motion)
	}
	p.Items = items
	return p
}

// PadPieces returns the parts for a machine, side by side, each a block of its own.
func PadPieces(parts []PadPart) []Piece {
	var pieces []Piece
	x := 0.0
	for _, part := range parts {
		b := part.Bounds()
		var items []Item
		for _, item := range part.Items {
			if a, isArea := item.(Area); isArea { // a machine knows lines only
				for _, path := range a.Paths {
					items = append(items, Stroke{Path: path, Role: Sign})
				}
				continue
			}
			items = append(items, item)
		}
		pieces = append(pieces, Piece{blockName(part.File), items, plane.Vec{X: x - b.Min.X, Y: -b.Max.Y}})
		x += math.Ceil(b.Width() + wholeMargin)
	}
	return pieces
}

// blockName returns the name in capitals, as release 12 wants names.
func blockName(file string) string {
	out := []byte(file)
	for i, c := range out {
		if c >= 'a' && c <= 'z' {
			out[i] = c - 'a' + 'A'
		}
	}
	return string(out)
}
