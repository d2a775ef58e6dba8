package render

import (
	"image"
	"image/color"
	"image/draw"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// lettering writes on pictures in one size of the Go typeface.
type lettering struct {
	face font.Face
	size float64 // px
}

func newLettering(size float64, bold bool) (lettering, error) {
	data := goregular.TTF
	if bold {
		data = gobold.TTF
	}
	parsed, err := opentype.Parse(data)
	if err != nil {
		return lettering{}, err
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingNone})
	return lettering{face, size}, err
}

// width returns the length of the words in px.
func (l lettering) width(words string) float64 {
	return float64(font.MeasureString(l.face, words)) / 64
}

// write writes the words with the base line's start at (x, y).
func (l lettering) write(img draw.Image, x, y float64, words string, ink color.Color) {
	d := font.Drawer{Dst: img, Src: image.NewUniform(ink), Face: l.face,
		Dot: fixed.Point26_6{X: fixed.Int26_6(x * 64), Y: fixed.Int26_6(y * 64)}}
	d.DrawString(words)
}

// wrap breaks the words into lines no wider than width px.
func (l lettering) wrap(words string, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(words) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && l.width(longer) > width {
			lines = append(lines, line)
			longer = word
		}
		line = longer
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// labels writes the labels of the layers above their places, each on a dark ground,
// kept inside the picture.
func (p *picture) labels(layers []Layer) error {
	words, err := newLettering(28*p.unit, true)
	if err != nil {
		return err
	}
	for _, l := range layers {
		for _, label := range l.Labels {
			p.label(words, label, l.Ink)
		}
	}
	return nil
}

func (p *picture) label(words lettering, label PointLabel, ink color.NRGBA) {
	q := p.place(label.At)
	pad := 0.3 * words.size
	width, height := words.width(label.Words)+2*pad, words.size+2*pad
	x := clamp(q.X-width/2, 0, float64(p.mask.width)-width)
	y := clamp(q.Y-height-0.4*words.size, 0, float64(p.mask.height)-height)
	ground := image.Rect(int(x), int(y), int(x+width), int(y+height))
	draw.Draw(p.img, ground, image.NewUniform(color.NRGBA{0, 0, 0, 190}), image.Point{}, draw.Over)
	words.write(p.img, x+pad, y+pad+0.8*words.size, label.Words, ink)
}

// clamp returns x moved into [low, high]; low wins when there is no room. A value
// that is no number becomes low.
func clamp(x, low, high float64) float64 {
	if !(x > low) || high < low {
		return low
	}
	if x > high {
		return high
	}
	return x
}
