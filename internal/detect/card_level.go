package detect

import (
	"math"
	"runtime"
	"sync"

	"fairedge/internal/photo"
)

// level is a grey picture reduced by a whole power of two. Because pixel centres
// lie at halves, a place of the level times scale is the same place of the photo.
type level struct {
	width, height int
	scale         float64 // photo pixels per level pixel
	pix           []uint8
}

// fullLevel returns the photo's own grey as a level.
func fullLevel(p *photo.Photo) level {
	return level{p.Width, p.Height, 1, p.Luma}
}

// halved returns the level at half the size; an odd last row or column is left out.
func (l level) halved() level {
	half := level{l.width / 2, l.height / 2, 2 * l.scale, nil}
	half.pix = make([]uint8, half.width*half.height)
	inStripes(half.height, func(_, y0, y1 int) {
		for y := y0; y < y1; y++ {
			halveRow(half.pix[y*half.width:(y+1)*half.width],
				l.pix[2*y*l.width:(2*y+1)*l.width], l.pix[(2*y+1)*l.width:(2*y+2)*l.width])
		}
	})
	return half
}

// halveRow averages two rows in squares of 2 x 2, rounding to nearest.
func halveRow(dst, upper, lower []uint8) {
	upper, lower = upper[:2*len(dst)], lower[:2*len(dst)]
	for x := range dst {
		sum := uint32(upper[2*x]) + uint32(upper[2*x+1]) + uint32(lower[2*x]) + uint32(lower[2*x+1])
		dst[x] = uint8((sum + 2) >> 2)
	}
}

// levelsOf returns the photo's levels from full size down to a long side of
// about an eighth of wanted, and the index of the one nearest to wanted.
func levelsOf(p *photo.Photo, wanted int) (levels []level, base int) {
	levels = []level{fullLevel(p)}
	long := float64(max(p.Width, p.Height))
	base = max(0, int(math.Round(math.Log2(long/float64(wanted)))))
	for k := 0; k < base; k++ {
		levels = append(levels, levels[k].halved())
	}
	return levels, base
}

// at returns the grey at (x, y) by bilinear interpolation; outside the picture
// the border repeats.
func (l level) at(x, y float64) float64 {
	x, y = x-0.5, y-0.5
	x = math.Max(0, math.Min(x, float64(l.width-1)))
	y = math.Max(0, math.Min(y, float64(l.height-1)))
	x0, y0 := int(x), int(y)
	x1, y1 := min(x0+1, l.width-1), min(y0+1, l.height-1)
	fx, fy := x-float64(x0), y-float64(y0)
	top := float64(l.pix[y0*l.width+x0])*(1-fx) + float64(l.pix[y0*l.width+x1])*fx
	bottom := float64(l.pix[y1*l.width+x0])*(1-fx) + float64(l.pix[y1*l.width+x1])*fx
	return top*(1-fy) + bottom*fy
}

// inStripes calls work for consecutive ranges of 0..n, one range a processor, at
// the same time, and returns when all are done.
func inStripes(n int, work func(stripe, from, to int)) {
	stripes := stripeCount(n)
	if stripes <= 1 {
		work(0, 0, n)
		return
	}
	var group sync.WaitGroup
	for s := 0; s < stripes; s++ {
		group.Add(1)
		go func() {
			defer group.Done()
			work(s, s*n/stripes, (s+1)*n/stripes)
		}()
	}
	group.Wait()
}

// stripeCount returns how many ranges inStripes makes of n.
func stripeCount(n int) int { return max(1, min(runtime.GOMAXPROCS(0), n)) }
