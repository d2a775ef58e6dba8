package render

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"

	"fairedge/internal/length"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// Check is what the check picture shows: the photo, what was found in it, what came
// out. Places are in pixels of the full photo (or of the straightened view, when
// Base is that).
type Check struct {
	Base     *image.RGBA   // the photo made smaller; not changed
	PerPixel float64       // photo px per px of Base: the factor of photo.Photo.Colour
	Marks    []photo.Point // card marks as found
	Samples  []photo.Point // edge samples as found
	Bridged  []photo.Point // edge samples carried over a gap, not seen
	Outline  []photo.Point // the fitted outline, closed
	Band     []Line        // the border of what the outline may be; see Caption.Band
	Labels   []PointLabel  // "A4 card 1", "back"
	Caption  Caption
}

// Caption is what stands under the check picture.
type Caption struct {
	Title                   string // of the job, or empty
	Width, Depth, Perimeter length.Length
	AreaMM2                 float64
	Accuracy                string   // one sentence
	Band                    string   // a sentence on the band and its exaggeration, or empty
	Warnings                []string // a sentence each
}

// The colours of the check picture. Bright, and told apart by people who do not see
// red and green alike (after Okabe and Ito, "Color universal design", 2008).
var (
	inkOutline = color.NRGBA{255, 214, 10, 255}  // yellow
	inkSamples = color.NRGBA{86, 200, 255, 255}  // sky blue
	inkBridged = color.NRGBA{255, 130, 60, 255}  // vermilion
	inkMarks   = color.NRGBA{120, 255, 190, 255} // bluish green
	inkBand    = color.NRGBA{226, 150, 200, 255} // reddish purple
	inkWords   = color.NRGBA{255, 255, 255, 255}
	inkWarning = color.NRGBA{255, 176, 80, 255}
	inkPanel   = color.NRGBA{24, 28, 34, 255}
)

// Reduction returns the factor for photo.Photo.Colour that makes a good base: the
// least that brings the longer side to 2100 px or less (4032 becomes 2016).
func Reduction(width, height int) int { return max(1, (max(width, height)+2099)/2100) }

// CheckPicture returns the picture that shows a person whether the outline was found
// where the template is. The caption stands below the photo, in type that can be
// read with the picture as wide as a phone.
func CheckPicture(c Check) (*image.RGBA, error) {
	if err := checkBase(c.Base, c.PerPixel); err != nil {
		return nil, err
	}
	size := c.Base.Bounds().Size()
	panel, err := newPanel(c.Caption, float64(size.X))
	if err != nil {
		return nil, err
	}
	p := newPicture(c.Base, c.PerPixel, panel.height())
	layers := []Layer{
		{Ink: inkMarks, Points: c.Marks, Crosses: true, Dot: 6 * p.unit},
		{Ink: inkSamples, Points: c.Samples, Dot: 4 * p.unit},
		{Ink: inkBridged, Points: c.Bridged, Dot: 4 * p.unit},
		{Ink: inkBand, Lines: c.Band, Width: 1.2 * p.unit},
		{Ink: inkOutline, Lines: []Line{{c.Outline, true}}},
		{Ink: inkWords, Labels: c.Labels},
	}
	for _, l := range layers {
		p.draw(l)
	}
	if err := p.labels(layers); err != nil {
		return nil, err
	}
	panel.draw(p.img, size.Y)
	return p.img, nil
}

func checkBase(base *image.RGBA, perPixel float64) error {
	if base == nil || base.Bounds().Empty() || !(perPixel > 0) {
		return problem.New(problem.Internal, "there is no photo to draw on", "report this with the photo")
	}
	return nil
}

// panel is the caption, laid out for a width.
type panel struct {
	rows   []panelRow
	width  float64
	margin float64
}

type panelRow struct {
	words string
	face  lettering
	ink   color.NRGBA
}

// newPanel lays the caption out. Type is measured in hundredths of the width: 3.4 is
// 13 px on a phone that shows the picture 390 px wide.
func newPanel(c Caption, width float64) (*panel, error) {
	p := &panel{width: width, margin: 0.03 * width}
	large, err := newLettering(0.064*width, true)
	if err != nil {
		return nil, err
	}
	body, err := newLettering(0.036*width, false)
	if err != nil {
		return nil, err
	}
	strong, err := newLettering(0.036*width, true)
	if err != nil {
		return nil, err
	}
	p.add(body, inkWords, c.Title)
	p.add(large, inkWords, fmt.Sprintf("%.1f x %.1f mm", c.Width.Millimetres(), c.Depth.Millimetres()))
	p.add(body, inkWords, fmt.Sprintf("%s wide, %s deep", c.Width.Imperial(), c.Depth.Imperial()))
	p.add(body, inkWords, fmt.Sprintf("Around %.0f mm (%s), area %.1f dm² (%.0f sq in)",
		c.Perimeter.Millimetres(), c.Perimeter.Imperial(), c.AreaMM2/1e4, c.AreaMM2/(25.4*25.4)))
	p.add(body, inkWords, c.Accuracy)
	p.add(body, inkBand, c.Band)
	for _, w := range c.Warnings {
		p.add(strong, inkWarning, "Check: "+w)
	}
	return p, nil
}

func (p *panel) add(l lettering, ink color.NRGBA, words string) {
	for _, line := range l.wrap(words, p.width-2*p.margin) {
		p.rows = append(p.rows, panelRow{line, l, ink})
	}
}

const rowHeight = 1.32 // of a row, in sizes of its type

func (p *panel) height() int {
	h := 2 * p.margin
	for _, r := range p.rows {
		h += rowHeight * r.face.size
	}
	return int(h)
}

func (p *panel) draw(img *image.RGBA, top int) {
	ground := image.Rect(0, top, img.Rect.Max.X, img.Rect.Max.Y)
	draw.Draw(img, ground, image.NewUniform(inkPanel), image.Point{}, draw.Src)
	y := float64(top) + p.margin
	for _, r := range p.rows {
		r.face.write(img, p.margin, y+r.face.size, r.words, r.ink)
		y += rowHeight * r.face.size
	}
}
