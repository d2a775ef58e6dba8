package photo

import (
	"encoding/binary"
	"image"
	"math/bits"
)

// Colour returns the picture for people to look at, made smaller by a whole
// factor (1 = full size): each pixel is the mean of factor x factor pixels, so a
// Point p lies at p/factor in it. At the right and lower edges, which the factor
// need not divide, it is the mean of those there are.
func (p *Photo) Colour(factor int) *image.RGBA {
	factor = min(max(factor, 1), 4096) // the sums of a box stay below 2^32
	width, height := (p.Width+factor-1)/factor, (p.Height+factor-1)/factor
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	b := boxes{photo: p, factor: factor, luma: make([]uint32, width), cb: make([]uint32, width), cr: make([]uint32, width), pairs: make([]uint64, p.Width/8)}
	for y := range height {
		top, bottom := y*factor, min((y+1)*factor, p.Height)
		b.sum(top, bottom)
		b.paint(img.Pix[y*img.Stride:][:4*width], bottom-top)
	}
	return img
}

// boxes are the sums of Y', Cb and Cr over the boxes of one row. The conversion to
// RGB is linear, so it can wait for the mean.
type boxes struct {
	photo        *Photo
	factor       int
	luma, cb, cr []uint32
	pairs        []uint64 // room for sumPairs
}

func (b *boxes) sum(top, bottom int) {
	clear(b.luma)
	clear(b.cb)
	clear(b.cr)
	if b.factor%2 == 0 && b.factor <= mostInLane {
		b.sumPairs(top, bottom)
		b.sumColourPairs(top, bottom)
		return
	}
	p := b.photo
	half, _ := p.ChromaSize()
	for y := top; y < bottom; y++ {
		luma := p.Luma[y*p.Width:][:p.Width]
		cb, cr := p.Cb[y/2*half:][:half], p.Cr[y/2*half:][:half]
		for box, x := 0, 0; x < p.Width; box++ {
			for end := min(x+b.factor, p.Width); x < end; x++ {
				b.luma[box] += uint32(luma[x])
				b.cb[box] += uint32(cb[x/2])
				b.cr[box] += uint32(cr[x/2])
			}
		}
	}
}

// mostInLane rows of two bytes each are the most that a sum of 16 bits holds.
const mostInLane = 128

// sumPairs sums the luma of boxes of an even factor, eight pixels at a time: the even
// and the odd bytes of a word make four sums of two neighbours in 16 bits each
// (Lamport, "Multiple byte processing with full-word instructions", CACM 18, 1975).
func (b *boxes) sumPairs(top, bottom int) {
	const evenBytes = 0x00ff00ff00ff00ff
	p := b.photo
	clear(b.pairs)
	for y := top; y < bottom; y++ {
		row := p.Luma[y*p.Width:][:p.Width]
		for i := range b.pairs {
			w := binary.LittleEndian.Uint64(row[8*i:])
			b.pairs[i] += w&evenBytes + w>>8&evenBytes
		}
		for x := 8 * len(b.pairs); x < p.Width; x++ {
			b.luma[x/b.factor] += uint32(row[x])
		}
	}
	if b.factor == 2 {
		for i, four := range b.pairs {
			s := b.luma[4*i:][:4]
			s[0], s[1], s[2], s[3] = uint32(four&0xffff), uint32(four>>16&0xffff), uint32(four>>32&0xffff), uint32(four>>48)
		}
		return
	}
	for i, four := range b.pairs {
		for k := range 4 {
			b.luma[(8*i+2*k)/b.factor] += uint32(four >> (16 * k) & 0xffff)
		}
	}
}

// sumColourPairs sums the colour of boxes of an even factor, in which each sample
// stands for two by two pixels, fewer at the right and lower edges.
func (b *boxes) sumColourPairs(top, bottom int) {
	p := b.photo
	half, _ := p.ChromaSize()
	each := b.factor / 2
	for y := top / 2; 2*y < bottom; y++ {
		n := uint32(2 * min(2, bottom-2*y))
		cb, cr := p.Cb[y*half:][:half], p.Cr[y*half:][:half]
		if p.Width%2 == 1 { // the last samples stand for half as many
			b.cb[len(b.cb)-1] -= n / 2 * uint32(cb[half-1])
			b.cr[len(b.cr)-1] -= n / 2 * uint32(cr[half-1])
		}
		if each == 1 {
			addTimes(b.cb, cb, n)
			addTimes(b.cr, cr, n)
			continue
		}
		for x := range half {
			b.cb[x/each] += n * uint32(cb[x])
			b.cr[x/each] += n * uint32(cr[x])
		}
	}
}

func addTimes(sums []uint32, samples []uint8, n uint32) {
	samples = samples[:len(sums)]
	for i := range sums {
		sums[i] += n * uint32(samples[i])
	}
}

// paint turns the sums into a row of pixels.
func (b *boxes) paint(row []uint8, rows int) {
	mean := meanOf(uint32(rows * b.factor))
	for x := range b.luma {
		if x == len(b.luma)-1 {
			mean = meanOf(uint32(rows * (b.photo.Width - x*b.factor)))
		}
		q := row[4*x:][:4]
		q[0], q[1], q[2] = rgbFromYCC(mean.of(b.luma[x]), mean.of(b.cb[x]), mean.of(b.cr[x]))
		q[3] = 255
	}
}

// rounding divides sums of n bytes by n to the nearest, by a multiplication: with
// m = floor(2^k/n) + 1 and a rounded sum x < 256 n, x·m/2^k exceeds x/n by at most
// x/2^k, which stays below the 1/n that would reach the next whole number when
// 256 n² < 2^k. 2^56 suffices for the 4096 x 4096 pixels of the largest box.
type rounding struct{ half, multiplier uint64 }

const roundingBits = 56

func meanOf(n uint32) rounding {
	return rounding{uint64(n / 2), uint64(1)<<roundingBits/uint64(n) + 1}
}

func (r rounding) of(sum uint32) uint8 {
	x := uint64(sum) + r.half
	high, low := bits.Mul64(x, r.multiplier)
	return uint8(high<<(64-roundingBits) | low>>roundingBits)
}
