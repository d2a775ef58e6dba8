package detect

import "math"

// cornerIndex finds candidate marks by place: buckets of equal squares.
type cornerIndex struct {
	corners    []corner
	cols, rows int
	start      []int32 // first entry of each bucket in order, and one more
	order      []int32 // corner numbers, bucket by bucket
}

// bucketSide is about the spacing of marks, level px.
const bucketSide = 16

func newCornerIndex(corners []corner, width, height int) *cornerIndex {
	ix := &cornerIndex{corners: corners, cols: width/bucketSide + 1, rows: height/bucketSide + 1}
	ix.start = make([]int32, ix.cols*ix.rows+1)
	for _, c := range corners {
		ix.start[ix.bucket(c.x, c.y)+1]++
	}
	for b := 1; b < len(ix.start); b++ {
		ix.start[b] += ix.start[b-1]
	}
	ix.order = make([]int32, len(corners))
	next := append([]int32(nil), ix.start...)
	for k, c := range corners {
		b := ix.bucket(c.x, c.y)
		ix.order[next[b]] = int32(k)
		next[b]++
	}
	return ix
}

func (ix *cornerIndex) bucket(x, y float64) int {
	return int(y/bucketSide)*ix.cols + int(x/bucketSide)
}

// within calls visit for every corner whose bucket touches the square of half
// side reach about (x, y).
func (ix *cornerIndex) within(x, y, reach float64, visit func(k int)) {
	c0, c1 := bucketRange(x, reach, ix.cols)
	r0, r1 := bucketRange(y, reach, ix.rows)
	for r := r0; r <= r1; r++ {
		if c0 > c1 {
			continue
		}
		from, to := ix.start[r*ix.cols+c0], ix.start[r*ix.cols+c1+1]
		for _, k := range ix.order[from:to] {
			visit(int(k))
		}
	}
}

func bucketRange(x, reach float64, n int) (from, to int) {
	return max(0, int(math.Floor((x-reach)/bucketSide))), min(n-1, int(math.Floor((x+reach)/bucketSide)))
}

// nearest returns the corner nearest to (x, y) within reach that fits, or -1.
func (ix *cornerIndex) nearest(x, y, reach float64, fits func(k int) bool) int {
	best, bestSq := -1, reach*reach
	ix.within(x, y, reach, func(k int) {
		dx, dy := ix.corners[k].x-x, ix.corners[k].y-y
		if sq := dx*dx + dy*dy; sq < bestSq && fits(k) {
			best, bestSq = k, sq
		}
	})
	return best
}
