package testscene

import (
	"math"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// colour is the light that a surface returns: tone, and Cb and Cr from grey.
type colour struct{ tone, cb, cr float64 }

func (c colour) mix(d colour, share float64) colour {
	return colour{
		c.tone + share*(d.tone-c.tone),
		c.cb + share*(d.cb-c.cb),
		c.cr + share*(d.cr-c.cr),
	}
}

// coat is one surface of the scene; later coats lie over earlier ones.
type coat struct {
	area    area
	clip    area // ink shows only where this is; nil for everywhere
	lift    float64
	opacity float64
	paint   colour
	grain   *tile // or nil
	depth   float64
}

func (c *coat) colourAt(p plane.Point) colour {
	if c.grain == nil {
		return c.paint
	}
	out := c.paint
	out.tone *= 1 + c.depth*c.grain.at(p)
	return out
}

func tinted(tone float64, t Tint) colour { return colour{tone, t.Cb, t.Cr} }

// coats stacks the scene's surfaces from the bench upward. The first is the
// bench itself, everywhere.
func (s Scene) coats() []coat {
	wood, paper := newWood(s.Seed, s.Bench.Turn), newPaper(s.Seed)
	all := []coat{{opacity: 1, paint: tinted(s.Bench.Tone, s.Bench.Tint), grain: wood, depth: s.Bench.Grain}}
	all = append(all, s.matCoats()...)
	all = append(all, strokeCoats(s.Strokes, false, nil, 0)...)
	all = append(all, s.sheetCoats(paper)...)
	for _, c := range s.Cards {
		all = append(all, cardCoats(c)...)
	}
	for _, r := range s.Rulers {
		all = append(all, rulerCoats(r)...)
	}
	for _, b := range s.Covers {
		all = append(all, blockCoat(b))
	}
	return all
}

func (s Scene) matCoats() []coat {
	m := s.Bench.Mat
	if m == nil {
		return nil
	}
	ground := newRectArea(m.WidthMM, m.HeightMM, m.PlaneFromMat)
	grid := gridArea{ground, m.GridMM, m.LineMM / 2}
	return []coat{
		{area: ground, opacity: 1, paint: tinted(m.Tone, m.Tint)},
		{area: grid, opacity: 1, paint: tinted(m.LineTone, m.Tint)},
	}
}

func (s Scene) sheetCoats(paper *tile) []coat {
	var material area = newRectArea(s.Sheet.WidthMM, s.Sheet.HeightMM, s.Sheet.PlaneFromSheet)
	if s.Kind == CutTemplate {
		material = newPolygonArea(s.Outline)
	}
	all := []coat{{area: material, lift: s.Sheet.LiftMM, opacity: s.Sheet.Opacity,
		paint: tinted(s.Sheet.Tone, s.Sheet.Tint), grain: paper, depth: s.Sheet.Grain}}
	if s.Kind != CutTemplate && !s.Outline.IsEmpty() {
		all = append(all, inkCoat(s.Outline, s.Line, material, s.Sheet.LiftMM))
	}
	return append(all, strokeCoats(s.Strokes, true, material, s.Sheet.LiftMM)...)
}

func strokeCoats(strokes []Stroke, onSheet bool, clip area, lift float64) []coat {
	var all []coat
	for _, k := range strokes {
		if k.OnSheet == onSheet {
			all = append(all, inkCoat(k.Path, k.Pen, clip, lift))
		}
	}
	return all
}

func inkCoat(path curve.Path, pen Pen, clip area, lift float64) coat {
	return coat{area: newStrokeArea(path, pen), clip: clip, lift: lift,
		opacity: pen.Darkness, paint: tinted(pen.Tone, pen.Tint)}
}

// The card's paper and print: office paper returns about 85 % of the light,
// laser toner about 4 %.
const (
	cardPaper = 0.85
	cardInk   = 0.04
)

func cardCoats(c Placement) []coat {
	design, err := card.DesignOf(c.Card)
	if err != nil {
		panic(err) // a fault in the test that built the scene
	}
	sx, sy := c.scales()
	paper := newRectArea(design.Width*sx, design.Height*sy, c.PlaneFromCard)
	return []coat{
		{area: paper, lift: c.LiftMM, opacity: 1, paint: colour{tone: cardPaper}},
		{area: newCardArea(c, design), lift: c.LiftMM, opacity: 1, paint: colour{tone: cardInk}},
	}
}

func blockCoat(b Block) coat {
	return coat{area: newRectArea(b.WidthMM, b.HeightMM, b.PlaneFromBlock), lift: b.LiftMM,
		opacity: 1, paint: tinted(b.Tone, b.Tint)}
}

// rulerCoats draws a tick every millimetre, longer at five and ten.
func rulerCoats(b Block) []coat {
	ticks := &strokeArea{halfWidth: 0.1}
	for k := 5; k < int(b.WidthMM)-5; k++ {
		length := 4.0
		if k%10 == 0 {
			length = 8
		} else if k%5 == 0 {
			length = 6
		}
		x := float64(k) - b.WidthMM/2
		foot := plane.Point{X: x, Y: -b.HeightMM / 2}
		ticks.addChain([]plane.Point{
			b.PlaneFromBlock.Apply(foot),
			b.PlaneFromBlock.Apply(foot.Add(plane.Vec{Y: length})),
		}, false)
	}
	ticks.index(ticks.halfWidth + slackMM)
	return []coat{blockCoat(b), {area: ticks, lift: b.LiftMM, opacity: 1, paint: colour{tone: 0.03}}}
}

// shade returns the share of the light that the shadows leave at p.
func (s *Scene) shade(p plane.Point) float64 {
	left := 1.0
	for _, h := range s.Shadows {
		d := h.Along.Unit().Cross(p.Sub(h.Through)) // mm to the left of the border
		t := 0.5
		if h.SoftMM > 0 {
			t += d / h.SoftMM
		} else if d != 0 {
			t = math.Copysign(1, d)
		}
		left *= 1 - h.Depth*smooth(math.Max(0, math.Min(1, t)))
	}
	return left
}
