package photo

import "encoding/binary"

// A placement says where the pixels of a stored picture go in the upright one:
// the pixel in column x of row y goes to index base + x·dx + y·dy.
type placement struct{ base, dx, dy int }

// placementFor gives the placement that turns a stored width x height plane
// upright. The eight values are those of the tag Orientation in "Exchangeable
// image file format for digital still cameras: Exif Version 2.32" (CIPA DC-008,
// 2019), section 4.6.4: the sides of the upright picture on which row 0 and
// column 0 of the stored one lie.
//
//	value   row 0   column 0        value   row 0   column 0
//	  1     top     left              5     left    top
//	  2     top     right             6     right   top
//	  3     bottom  right             7     right   bottom
//	  4     bottom  left              8     left    bottom
func placementFor(orientation, width, height int) placement {
	last := width*height - 1
	switch orientation {
	case 2:
		return placement{width - 1, -1, width}
	case 3:
		return placement{last, -1, -width}
	case 4:
		return placement{last + 1 - width, 1, -width}
	case 5:
		return placement{0, height, 1}
	case 6:
		return placement{height - 1, height, -1}
	case 7:
		return placement{last, -height, -1}
	case 8:
		return placement{last + 1 - height, -height, 1}
	}
	return placement{0, 1, width}
}

// swapsSides reports whether the orientation lays the picture on its side.
func swapsSides(orientation int) bool { return orientation >= 5 && orientation <= 8 }

// band is a horizontal strip of a stored plane.
type band struct {
	pixels []uint8
	stride int // from row to row
	width  int // bytes in use in each row
	rows   int
}

func (b band) row(y int) []uint8 { return b.pixels[y*b.stride:][:b.width] }

// put copies the band, whose first row is row y of the stored plane, to its
// place in dst.
func (p placement) put(dst []uint8, y int, b band) {
	start := p.base + y*p.dy
	switch p.dx {
	case 1:
		for r := range b.rows {
			copy(dst[start+r*p.dy:], b.row(r))
		}
	case -1:
		for r := range b.rows {
			copyReversed(dst[start+r*p.dy-b.width+1:][:b.width], b.row(r))
		}
	default:
		p.putTurned(dst, start, b)
	}
}

func copyReversed(dst, src []uint8) {
	last := len(src) - 1
	for i := range dst {
		dst[i] = src[last-i]
	}
}

// A picture is turned in squares of turnSide. The rows of a square become runs of
// that many bytes, a whole cache line each; the square and its turned image stay
// in the first cache, and touch no more pages than its address table holds.
const turnSide = 64

// putTurned turns rows into columns. dx is plus or minus the upright width, dy
// plus or minus one.
func (p placement) putTurned(dst []uint8, start int, b band) {
	for top := 0; top < b.rows; top += turnSide {
		bottom := min(top+turnSide, b.rows)
		for left := 0; left < b.width; left += turnSide {
			right := min(left+turnSide, b.width)
			y := top
			for ; y+8 <= bottom; y += 8 {
				x := left
				for ; x+8 <= right; x += 8 {
					p.turn8(dst, start, b, x, y)
				}
				p.turnSlowly(dst, start, b, x, right, y, y+8)
			}
			p.turnSlowly(dst, start, b, left, right, y, bottom)
		}
	}
}

// turnSlowly turns what is left of columns left to right, rows top to bottom.
func (p placement) turnSlowly(dst []uint8, start int, b band, left, right, top, bottom int) {
	for y := top; y < bottom; y++ {
		for x := left; x < right; x++ {
			dst[start+x*p.dx+y*p.dy] = b.pixels[y*b.stride+x]
		}
	}
}

// turn8 turns the 8 x 8 pixels at column x, row y. Each row is a word, its first
// pixel lowest. Exchanging the off-diagonal quarters of the square, then those of
// its quarters and so on, transposes it (Henry S. Warren, "Hacker's Delight",
// second edition, 2012, section 7-3).
func (p placement) turn8(dst []uint8, start int, b band, x, y int) {
	var w [8]uint64
	at := y*b.stride + x
	first := start + x*p.dx + y*p.dy
	if p.dy > 0 {
		for i := range 8 {
			w[i] = binary.LittleEndian.Uint64(b.pixels[at+i*b.stride:])
		}
	} else { // the last row comes first in each run
		first -= 7
		for i := range 8 {
			w[7-i] = binary.LittleEndian.Uint64(b.pixels[at+i*b.stride:])
		}
	}
	for i := range 4 {
		w[i], w[i+4] = exchange(w[i], w[i+4], 32, 0x00000000ffffffff)
	}
	for _, i := range [4]int{0, 1, 4, 5} {
		w[i], w[i+2] = exchange(w[i], w[i+2], 16, 0x0000ffff0000ffff)
	}
	for i := 0; i < 8; i += 2 {
		w[i], w[i+1] = exchange(w[i], w[i+1], 8, 0x00ff00ff00ff00ff)
	}
	for i := range 8 {
		binary.LittleEndian.PutUint64(dst[first+i*p.dx:], w[i])
	}
}

// exchange swaps the upper halves of a's fields with the lower halves of b's.
func exchange(a, b uint64, shift int, lower uint64) (uint64, uint64) {
	t := (a>>shift ^ b) & lower
	return a ^ t<<shift, b ^ t
}

// upright builds a Photo out of bands of the stored picture, top to bottom.
type upright struct {
	photo         *Photo
	width, height int // as stored
	luma, chroma  placement
	scratch       []uint8
}

// newUpright allocates the Photo of a stored width x height picture that
// lens.Orientation turns upright.
func newUpright(width, height int, lens Lens) *upright {
	p := &Photo{Width: width, Height: height, Lens: lens}
	if swapsSides(lens.Orientation) {
		p.Width, p.Height = height, width
	}
	half, halfRows := (width+1)/2, (height+1)/2
	p.Luma = make([]uint8, width*height)
	p.Cb = make([]uint8, half*halfRows)
	p.Cr = make([]uint8, half*halfRows)
	return &upright{
		photo: p, width: width, height: height,
		luma:   placementFor(lens.Orientation, width, height),
		chroma: placementFor(lens.Orientation, half, halfRows),
	}
}

// scratchOf returns n bytes of reused memory.
func (u *upright) scratchOf(n int) []uint8 {
	if len(u.scratch) < n {
		u.scratch = make([]uint8, n)
	}
	return u.scratch[:n]
}

func (u *upright) putLuma(y int, b band) { u.luma.put(u.photo.Luma, y, b) }

func (u *upright) chromaPlane(c int) []uint8 {
	if c == 1 {
		return u.photo.Cb
	}
	return u.photo.Cr
}

// putNoColour fills the chroma that belongs to rows of luma from row y (even) on.
func (u *upright) putNoColour(y, rows int) {
	half, halfRows := (u.width+1)/2, (rows+1)/2
	grey := band{pixels: u.scratchOf(half * halfRows), stride: half, width: half, rows: halfRows}
	for i := range grey.pixels {
		grey.pixels[i] = 128
	}
	u.chroma.put(u.photo.Cb, y/2, grey)
	u.chroma.put(u.photo.Cr, y/2, grey)
}

// putChroma takes the chroma (1 = Cb, 2 = Cr) of rows of luma from row y (even)
// on. A sample of b covers across x down pixels of luma.
func (u *upright) putChroma(c, y, rows int, b band, across, down int) {
	if across != 2 || down != 2 {
		b = u.halved(b, rows, across, down)
	}
	b.rows = min(b.rows, (rows+1)/2)
	u.chroma.put(u.chromaPlane(c), y/2, b)
}

// halved resamples chroma to one sample for 2 x 2 pixels of luma by averaging
// what those four have; past the edges the last sample counts again.
func (u *upright) halved(b band, rows, across, down int) band {
	half, halfRows := (u.width+1)/2, (rows+1)/2
	out := band{pixels: u.scratchOf(half * halfRows), stride: half, width: half, rows: halfRows}
	for j := range halfRows {
		upper := b.row(min(2*j/down, b.rows-1))
		lower := b.row(min((2*j+1)/down, b.rows-1))
		for i := range half {
			left := min(2*i/across, b.width-1)
			right := min((2*i+1)/across, b.width-1)
			sum := int(upper[left]) + int(upper[right]) + int(lower[left]) + int(lower[right])
			out.pixels[j*half+i] = uint8((sum + 2) / 4)
		}
	}
	return out
}
