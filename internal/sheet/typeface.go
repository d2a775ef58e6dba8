package sheet

import (
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Width returns the length of the line of writing in mm, set in the Go typeface
// (Bigelow & Holmes, 2016), which the PDF embeds. Kerning is left out: the Go
// fonts have none.
func (t Text) Width() float64 {
	data := goregular.TTF
	if t.Bold {
		data = gobold.TTF
	}
	face, err := sfnt.Parse(data)
	if err != nil {
		return 0.6 * t.Size * float64(len(t.Words)) // cannot happen: the font is compiled in
	}
	var buf sfnt.Buffer
	perEm := fixed.Int26_6(face.UnitsPerEm()) << 6
	var sum fixed.Int26_6
	for _, r := range t.Words {
		glyph, err := face.GlyphIndex(&buf, r)
		if err != nil {
			continue
		}
		if advance, err := face.GlyphAdvance(&buf, glyph, perEm, font.HintingNone); err == nil {
			sum += advance
		}
	}
	return float64(sum) / float64(perEm) * t.Size
}
