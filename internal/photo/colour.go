package photo

import "image"

// Colour returns the picture for people to look at, made smaller by a whole
// factor (1 = full size): each pixel is the mean of factor x factor pixels, so a
// Point p lies at p/factor in it. At the right and lower edges, which the factor
// need not divide, it is the mean of those there are.
func (p *Photo) Colour(factor int) *image.RGBA {
	factor = min(max(factor, 1), 4096) // the sums of a box stay below 2^32
	width, height := (p.Width+factor-1)/factor, (p.Height+factor-1)/factor
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	sums := make([]uint32, 3*width)
	for y := range height {
		clear(sums)
		top, bottom := y*factor, min((y+1)*factor, p.Height)
		p.addRows(sums, factor, top, bottom)
		row := img.Pix[y*img.Stride:]
		for x := range width {
			n := uint32(bottom-top) * uint32(min((x+1)*factor, p.Width)-x*factor)
			s := sums[3*x:][:3]
			q := row[4*x:][:4]
			q[0], q[1], q[2] = rgbFromYCC(mean(s[0], n), mean(s[1], n), mean(s[2], n))
			q[3] = 255
		}
	}
	return img
}

// addRows adds the rows from top to bottom to the sums of Y', Cb and Cr of each
// box. The conversion to RGB is linear, so it can wait for the mean.
func (p *Photo) addRows(sums []uint32, factor, top, bottom int) {
	half, _ := p.ChromaSize()
	for y := top; y < bottom; y++ {
		luma := p.Luma[y*p.Width:][:p.Width]
		cb, cr := p.Cb[y/2*half:][:half], p.Cr[y/2*half:][:half]
		for box, x := 0, 0; x < p.Width; box++ {
			var sy, sb, sr uint32
			for end := min(x+factor, p.Width); x < end; x++ {
				sy += uint32(luma[x])
				sb += uint32(cb[x/2])
				sr += uint32(cr[x/2])
			}
			s := sums[3*box:][:3]
			s[0] += sy
			s[1] += sb
			s[2] += sr
		}
	}
}

func mean(sum, n uint32) uint8 { return uint8((sum + n/2) / n) }
