package photo

// pixelLayout says what the bytes of an interleaved pixel are.
type pixelLayout int

const (
	pixelsYCC          pixelLayout = iota // Y', Cb, Cr as in JFIF
	pixelsRGB                             // red, green, blue
	pixelsCMYK                            // inks, 255 = full
	pixelsCMYKInverted                    // inks, 0 = full
)

func (l pixelLayout) bytes() int {
	if l == pixelsCMYK || l == pixelsCMYKInverted {
		return 4
	}
	return 3
}

// putPixels takes a band of interleaved pixels from row y (even) on.
func (u *upright) putPixels(y int, b band, layout pixelLayout) {
	plane := u.width * b.rows
	planes := make([]uint8, 3*plane)
	part := func(c int) band {
		return band{pixels: planes[c*plane : (c+1)*plane], stride: u.width, width: u.width, rows: b.rows}
	}
	luma, cb, cr := part(0), part(1), part(2)
	for r := range b.rows {
		splitRow(b.row(r), layout, luma.row(r), cb.row(r), cr.row(r))
	}
	u.putLuma(y, luma)
	u.putChroma(1, y, b.rows, cb, 1, 1)
	u.putChroma(2, y, b.rows, cr, 1, 1)
}

// splitRow converts a row of pixels to Y', Cb and Cr.
func splitRow(pixels []uint8, layout pixelLayout, luma, cb, cr []uint8) {
	size := layout.bytes()
	for x := range luma {
		p := pixels[x*size:][:size]
		switch layout {
		case pixelsYCC:
			luma[x], cb[x], cr[x] = p[0], p[1], p[2]
		case pixelsRGB:
			luma[x], cb[x], cr[x] = yccFromRGB(p[0], p[1], p[2])
		case pixelsCMYK:
			luma[x], cb[x], cr[x] = yccFromPaper(255-p[0], 255-p[1], 255-p[2], 255-p[3])
		case pixelsCMYKInverted:
			luma[x], cb[x], cr[x] = yccFromPaper(p[0], p[1], p[2], p[3])
		}
	}
}

// yccFromPaper takes how much light each ink lets through. Without the printer's
// profile the black ink can only be taken as a grey filter over the other three.
func yccFromPaper(c, m, y, k uint8) (uint8, uint8, uint8) {
	through := func(ink uint8) uint8 { return uint8((int(ink)*int(k) + 127) / 255) }
	return yccFromRGB(through(c), through(m), through(y))
}

// The conversion of "JPEG File Interchange Format", version 1.02 (Hamilton,
// 1992), which is BT.601 at full range, in 16-bit fixed point:
//
//	Y' =  0.299 R + 0.587 G + 0.114 B
//	Cb = -0.1687 R - 0.3313 G + 0.5 B + 128 = (B - Y') / 1.772 + 128
//	Cr =  0.5 R - 0.4187 G - 0.0813 B + 128 = (R - Y') / 1.402 + 128
func yccFromRGB(r, g, b uint8) (luma, cb, cr uint8) {
	const half = 1 << 15
	const grey = 128<<16 + half
	red, green, blue := int32(r), int32(g), int32(b)
	luma = uint8((19595*red + 38470*green + 7471*blue + half) >> 16)
	cb = clamp((-11059*red - 21709*green + 32768*blue + grey) >> 16)
	cr = clamp((32768*red - 27439*green - 5329*blue + grey) >> 16)
	return luma, cb, cr
}

// rgbFromYCC is the inverse: R = Y' + 1.402 (Cr - 128), and so on.
func rgbFromYCC(luma, cb, cr uint8) (r, g, b uint8) {
	const half = 1 << 15
	y := int32(luma)<<16 + half
	blue, red := int32(cb)-128, int32(cr)-128
	r = clamp((y + 91881*red) >> 16)
	g = clamp((y - 22554*blue - 46802*red) >> 16)
	b = clamp((y + 116130*blue) >> 16)
	return r, g, b
}

// clamp has one branch, which is seldom taken: below 0 the sign's bits, turned over, are
// 0, and above 255 they are all ones.
func clamp(v int32) uint8 {
	if uint32(v) > 255 {
		v = ^(v >> 31)
	}
	return uint8(v)
}
