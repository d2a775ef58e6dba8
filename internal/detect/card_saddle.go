package detect

import "math"

// smooth is a level smoothed by the binomial 1 4 6 4 1 both ways (standard
// deviation 1 px), in sixteenths of a grey value.
type smooth struct {
	width, height int
	pix           []uint16
}

// smoothed returns the level smoothed. The border repeats.
func (l level) smoothed() smooth {
	s := smooth{l.width, l.height, make([]uint16, l.width*l.height)}
	inStripes(l.height, func(_, y0, y1 int) {
		column := make([]uint32, l.width+4)
		for y := y0; y < y1; y++ {
			l.smoothColumn(column[2:2+l.width], y)
			column[0], column[1] = column[2], column[2]
			column[l.width+2], column[l.width+3] = column[l.width+1], column[l.width+1]
			smoothRow(s.pix[y*l.width:(y+1)*l.width], column)
		}
	})
	return s
}

func (l level) row(y int) []uint8 {
	y = max(0, min(y, l.height-1))
	return l.pix[y*l.width : (y+1)*l.width]
}

func (l level) smoothColumn(dst []uint32, y int) {
	n := len(dst)
	a, b, c, d, e := l.row(y - 2)[:n], l.row(y - 1)[:n], l.row(y)[:n], l.row(y + 1)[:n], l.row(y + 2)[:n]
	for x := range dst {
		dst[x] = uint32(a[x]) + uint32(e[x]) + 4*(uint32(b[x])+uint32(d[x])) + 6*uint32(c[x])
	}
}

func smoothRow(dst []uint16, padded []uint32) {
	padded = padded[:len(dst)+4]
	for x := range dst {
		sum := padded[x] + padded[x+4] + 4*(padded[x+1]+padded[x+3]) + 6*padded[x+2]
		dst[x] = uint16(sum >> 4)
	}
}

// at returns the smoothed grey at (x, y), bilinear; the caller keeps 1 px away
// from the border.
func (s smooth) at(x, y float64) float64 {
	x, y = x-0.5, y-0.5
	x0, y0 := int(x), int(y)
	fx, fy := x-float64(x0), y-float64(y0)
	k := y0*s.width + x0
	top := float64(s.pix[k])*(1-fx) + float64(s.pix[k+1])*fx
	bottom := float64(s.pix[k+s.width])*(1-fx) + float64(s.pix[k+s.width+1])*fx
	return (top*(1-fy) + bottom*fy) / 16
}

// peak is a local maximum of saddle strength, sub-pixel, level px.
type peak struct {
	x, y     float64
	strength int32
}

// saddleRow writes the negative Hessian determinant, dxy² - dxx dyy, of row y by
// differences over step pixels, in 1/256 grey². It is positive at saddles and
// only there; blobs and straight edges give zero or less.
func (s smooth) saddleRow(dst []int32, y, step int) {
	w := s.width
	up, mid, down := s.pix[(y-step)*w:(y-step+1)*w], s.pix[y*w:(y+1)*w], s.pix[(y+step)*w:(y+step+1)*w]
	for x := step; x < w-step; x++ {
		l, r := x-step, x+step
		centre := 2 * int32(mid[x])
		dxx := int32(mid[l]) + int32(mid[r]) - centre
		dyy := int32(up[x]) + int32(down[x]) - centre
		dxy := (int32(up[l]) + int32(down[r]) - int32(up[r]) - int32(down[l])) >> 2
		dst[x] = dxy*dxy - dxx*dyy
	}
}

// peaks returns the local maxima of saddle strength above threshold (grey²), in
// reading order.
func (s smooth) peaks(step int, threshold float64) []peak {
	if s.width < 16 || s.height < 16 {
		return nil
	}
	limit := int32(threshold * 256)
	parts := make([][]peak, stripeCount(s.height))
	inStripes(s.height, func(stripe, y0, y1 int) {
		parts[stripe] = s.peaksBetween(y0, y1, step, limit)
	})
	var all []peak
	for _, part := range parts {
		all = append(all, part...)
	}
	return all
}

// peakReach is the half side of the square in which a peak is the only one, px.
const peakReach = 2

// peaksBetween keeps five rows of saddle strength at a time.
func (s smooth) peaksBetween(y0, y1, step int, limit int32) []peak {
	var found []peak
	rows := make([][]int32, 2*peakReach+1)
	for k := range rows {
		rows[k] = make([]int32, s.width)
	}
	first, last := step, s.height-step-1
	for y := y0 - peakReach; y < y1+peakReach; y++ {
		newest := rows[0]
		copy(rows, rows[1:])
		rows[2*peakReach] = newest
		if y < first || y > last {
			clear(newest)
		} else {
			s.saddleRow(newest, y, step)
		}
		if centre := y - peakReach; centre >= y0 {
			found = appendPeaks(found, rows, centre, limit)
		}
	}
	return found
}

func appendPeaks(found []peak, rows [][]int32, y int, limit int32) []peak {
	mid := rows[peakReach]
	for x := peakReach; x < len(mid)-peakReach; x++ {
		v := mid[x]
		if v < limit || v < mid[x-1] || v <= mid[x+1] || !isPeak(rows, x, v) {
			continue
		}
		above, below := rows[peakReach-1][x], rows[peakReach+1][x]
		found = append(found, peak{
			float64(x) + 0.5 + vertex(mid[x-1], v, mid[x+1]),
			float64(y) + 0.5 + vertex(above, v, below), v,
		})
	}
	return found
}

// isPeak reports whether v at column x is the largest of its square; of equal
// values the last in reading order wins.
func isPeak(rows [][]int32, x int, v int32) bool {
	for dy, row := range rows {
		for dx := -peakReach; dx <= peakReach; dx++ {
			other := row[x+dx]
			later := dy > peakReach || dy == peakReach && dx > 0
			if other > v || later && other == v {
				return false
			}
		}
	}
	return true
}

// vertex returns where the parabola through (-1, a), (0, b), (1, c) peaks.
func vertex(a, b, c int32) float64 {
	curve := 2*float64(b) - float64(a) - float64(c)
	if curve <= 0 {
		return 0
	}
	return math.Max(-0.5, math.Min(0.5, (float64(c)-float64(a))/(2*curve)))
}
