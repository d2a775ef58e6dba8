package sheet

import (
	"sync"

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
	face := regularFace()
	if t.Bold {
		face = boldFace()
	}
	sum := 0.0
	for _, r := range t.Words {
		sum += face.advance(r)
	}
	return sum * t.Size
}

// typeface is one of the compiled-in fonts with the advances of its commonest letters,
// in ems. It never changes.
type typeface struct {
	font     *sfnt.Font
	advances [256]float64
}

// Both are read when first used, and then kept: reading a font takes longer than
// setting a page.
var (
	regularFace = sync.OnceValue(func() *typeface { return newTypeface(goregular.TTF) })
	boldFace    = sync.OnceValue(func() *typeface { return newTypeface(gobold.TTF) })
)

func newTypeface(data []byte) *typeface {
	f := &typeface{}
	parsed, err := sfnt.Parse(data)
	if err == nil { // always: the font is compiled in
		f.font = parsed
	}
	for r := range f.advances {
		f.advances[r] = f.read(rune(r))
	}
	return f
}

func (f *typeface) advance(r rune) float64 {
	if r >= 0 && int(r) < len(f.advances) {
		return f.advances[r]
	}
	return f.read(r)
}

func (f *typeface) read(r rune) float64 {
	if f.font == nil {
		return 0.6
	}
	var buf sfnt.Buffer
	perEm := fixed.Int26_6(f.font.UnitsPerEm()) << 6
	glyph, err := f.font.GlyphIndex(&buf, r)
	if err != nil {
		return 0
	}
	advance, err := f.font.GlyphAdvance(&buf, glyph, perEm, font.HintingNone)
	if err != nil {
		return 0
	}
	return float64(advance) / float64(perEm)
}
