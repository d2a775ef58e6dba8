package detect

// regions are the connected parts (over sides, not corners) of a view that the
// walls leave. Label 0 is wall; region r has label r.
type regions struct {
	w, h  int
	label []int32
	area  []int  // pixels, by label
	open  []bool // touches what the photo does not show, by label
	first []int  // first pixel in raster order, by label
	box   []pixelBox
	rim   pixelBox // outside it all labels are 0
}

// regionsOf labels the regions of the view in memory of an earlier labelling:
// new memory would have to be cleared whole each time.
func (v *inkView) regionsOf(walls *grid) *regions {
	label, ok := v.labels.Get().(*[]int32)
	if !ok {
		fresh := make([]int32, v.w*v.h)
		label = &fresh
	}
	return labelRegionsIn(*label, walls, v.seen)
}

// release gives the memory of regions back; they are not used any more.
func (v *inkView) release(r *regions) {
	for y := r.rim.y0; y <= r.rim.y1; y++ {
		clear(r.label[y*r.w+r.rim.x0 : y*r.w+r.rim.x1+1])
	}
	label := r.label
	r.label = nil
	v.labels.Put(&label)
}

// pixelBox holds the columns and rows that a region's pixels lie in, ends included.
type pixelBox struct{ x0, y0, x1, y1 int }

// include grows the box by the pixels from x0 to x1 of row y.
func (b *pixelBox) include(x0, x1, y int) {
	b.x0, b.x1 = min(b.x0, x0), max(b.x1, x1)
	b.y0, b.y1 = min(b.y0, y), max(b.y1, y)
}

// add starts a region whose first pixel is k.
func (r *regions) add(k int) int32 {
	x, y := k%r.w, k/r.w
	r.area, r.open, r.first = append(r.area, 0), append(r.open, false), append(r.first, k)
	r.box = append(r.box, pixelBox{x, y, x, y})
	return int32(len(r.area) - 1)
}

// pixelRun is a stretch of one row: free pixels of a region, or pixels that are
// not seen (set 0).
type pixelRun struct {
	from, to int // pixels, to excluded
	set      int32
}

// labelRegions numbers the regions between the walls in raster order. Pixels
// that are not seen, and the view's border, are walls whose neighbours are open.
//
// It works on runs of pixels, of which a view has a thousandth as many, and only
// in the box that holds the walls: what reaches the box's rim is open, since
// beyond it nothing stops it from reaching the view's border or what is not seen.
// Labels beyond the rim are 0.
func labelRegions(walls *grid, seen []bool) *regions {
	return labelRegionsIn(make([]int32, walls.w*walls.h), walls, seen)
}

// labelRegionsIn is labelRegions with the labels' memory, which is all zero.
func labelRegionsIn(label []int32, walls *grid, seen []bool) *regions {
	w, h := walls.w, walls.h
	r := &regions{w: w, h: h, label: label}
	list := walls.set()
	if len(list) == 0 {
		r.add(0)
		return r
	}
	rim := rimOf(list, w, h)
	r.rim = rim
	s := runSets{parent: []int32{0}, open: []bool{true}}
	rows := make([][]pixelRun, h)
	for y := rim.y0; y <= rim.y1; y++ {
		rows[y] = rowRuns(walls, seen, y*w+rim.x0, y*w+rim.x1+1)
		for i := range rows[y] {
			s.place(rows[y], i, rows[y-1], w)
			if run := rows[y][i]; y == rim.y0 || y == rim.y1 || run.from == y*w+rim.x0 || run.to == y*w+rim.x1+1 {
				s.open[run.set] = true
			}
		}
	}
	r.number(rows, &s)
	r.dissolve(walls, list)
	return r
}

// rimOf returns the box around pixels, one pixel wider on all sides and inside
// the view's border. The pixels are in raster order.
func rimOf(list []int32, w, h int) pixelBox {
	box := pixelBox{w, h, 0, 0}
	for _, k := range list {
		x := int(k) % w
		box.x0, box.x1 = min(box.x0, x), max(box.x1, x)
	}
	top, low := int(list[0])/w, int(list[len(list)-1])/w
	return pixelBox{max(1, box.x0-1), max(1, top-1), min(w-2, box.x1+1), min(h-2, low+1)}
}

// rowRuns splits a stretch of a row into runs.
func rowRuns(walls *grid, seen []bool, from, end int) []pixelRun {
	var runs []pixelRun
	pix := walls.pix
	for k := from; k < end; {
		if pix[k] != 0 && seen[k] {
			k++
			continue
		}
		run := pixelRun{from: k, set: -1}
		if seen[k] {
			for k < end && pix[k] == 0 && seen[k] {
				k++
			}
		} else {
			run.set = 0
			for k < end && !seen[k] {
				k++
			}
		}
		run.to = k
		runs = append(runs, run)
	}
	return runs
}

// runSets joins runs into regions.
type runSets struct {
	parent []int32
	open   []bool // by first number; gathered at the end
}

// place finds the set of run i from the runs above it that it touches, and marks
// it open where it touches what is not seen.
func (s *runSets) place(row []pixelRun, i int, above []pixelRun, w int) {
	run := &row[i]
	fresh := run.set != 0
	open := false
	for _, a := range above {
		if a.to+w <= run.from || a.from+w >= run.to {
			continue
		}
		switch {
		case run.set == 0 && a.set != 0:
			s.open[a.set] = true
		case run.set == 0:
		case a.set == 0:
			open = true
		case fresh:
			run.set, fresh = a.set, false
		default:
			run.set = unite(s.parent, run.set, a.set)
		}
	}
	if run.set == 0 {
		if i > 0 && row[i-1].to == run.from {
			s.open[row[i-1].set] = true
		}
		return
	}
	if fresh {
		run.set = int32(len(s.parent))
		s.parent, s.open = append(s.parent, run.set), append(s.open, false)
	}
	if open || (i > 0 && row[i-1].set == 0 && row[i-1].to == run.from) {
		s.open[run.set] = true
	}
}

// number gives the sets their labels in raster order and paints them.
func (r *regions) number(rows [][]pixelRun, s *runSets) {
	label := make([]int32, len(s.parent))
	r.add(0)
	for y, row := range rows {
		for _, run := range row {
			if run.set == 0 {
				continue
			}
			base := root(s.parent, run.set)
			if label[base] == 0 {
				label[base] = r.add(run.from)
			}
			l := label[base]
			r.area[l] += run.to - run.from
			r.box[l].include(run.from-y*r.w, run.to-1-y*r.w, y)
			stretch := r.label[run.from:run.to]
			for k := range stretch {
				stretch[k] = l
			}
		}
	}
	for set, open := range s.open {
		if l := label[root(s.parent, int32(set))]; set > 0 && open && l > 0 {
			r.open[l] = true
		}
	}
}

// dissolve gives wall pixels that part nothing to the one region around them:
// the bar between the outline and a letter would else be walked along both ways.
func (r *regions) dissolve(walls *grid, list []int32) {
	around := walls.around()
	for _, k := range list {
		var only int32
		mixed, beside := false, false
		for i, d := range around {
			if l := r.label[int(k)+d]; l != 0 {
				mixed = mixed || (only != 0 && l != only)
				beside = beside || i%2 == 0
				only = l
			}
		}
		if only != 0 && !mixed && beside {
			r.give(int(k), only)
		}
	}
}

// give makes pixel k part of region l.
func (r *regions) give(k int, l int32) {
	r.label[k] = l
	r.area[l]++
	r.first[l] = min(r.first[l], k)
	r.box[l].include(k%r.w, k%r.w, k/r.w)
}

func root(parent []int32, a int32) int32 {
	for parent[a] != a {
		parent[a] = parent[parent[a]]
		a = parent[a]
	}
	return a
}

// unite joins two sets under the smaller number.
func unite(parent []int32, a, b int32) int32 {
	a, b = root(parent, a), root(parent, b)
	if a > b {
		a, b = b, a
	}
	parent[b] = a
	return a
}

// renumber gives the sets their labels in raster order.
func (r *regions) renumber(parent []int32, seen []bool) {
	number := make([]int32, len(parent))
	r.add(0)
	for y := range r.h {
		for x := range r.w {
			k := y*r.w + x
			if r.label[k] == 0 {
				continue
			}
			base := root(parent, r.label[k])
			if number[base] == 0 {
				number[base] = r.add(k)
			}
			l := number[base]
			r.label[k] = l
			r.area[l]++
			r.box[l].include(x, x, y)
			if x == 1 || y == 1 || x == r.w-2 || y == r.h-2 ||
				!seen[k-1] || !seen[k+1] || !seen[k-r.w] || !seen[k+r.w] {
				r.open[l] = true
			}
		}
	}
}

// regionBorder is the outer border of a region: the pixels just outside it, in
// order, clockwise as seen from above.
type regionBorder struct {
	outside []int   // wall pixels along the border, consecutive repeats removed
	area    float64 // enclosed by the border, holes included, px²
}

// border follows the cracks between a region's pixels and the rest, starting at
// its first pixel. in reports whether a pixel belongs to the region; the region
// must not touch the view's border.
func (r *regions) border(first int, in func(k int) bool) regionBorder {
	var out regionBorder
	x, y := first%r.w, first/r.w // lattice corner: upper left of the first pixel
	sx, sy := x, y
	dx, dy := 1, 0
	doubled := 0
	for step := 0; step < 4*len(r.label); step++ {
		left := r.beside(x, y, dx, dy, true)
		if n := len(out.outside); n == 0 || out.outside[n-1] != left {
			out.outside = append(out.outside, left)
		}
		doubled += x*dy - y*dx
		x, y = x+dx, y+dy
		switch {
		case !in(r.beside(x, y, dx, dy, false)):
			dx, dy = -dy, dx
		case in(r.beside(x, y, dx, dy, true)):
			dx, dy = dy, -dx
		}
		if x == sx && y == sy && dx == 1 && dy == 0 {
			break
		}
	}
	out.area = float64(doubled) / 2
	if n := len(out.outside); n > 1 && out.outside[0] == out.outside[n-1] {
		out.outside = out.outside[:n-1]
	}
	return out
}

// around returns the outer border of region l.
func (r *regions) around(l int32) regionBorder {
	return r.border(r.first[l], func(k int) bool { return r.label[k] == l })
}

// beside returns the pixel ahead of lattice corner (x, y) in direction (dx, dy),
// to the left or right of the way (as seen, y down).
func (r *regions) beside(x, y, dx, dy int, left bool) int {
	// Ahead of the corner the pixels are at (x, y) + (dx-1)/2 ± the normal.
	nx, ny := dy, -dx // to the left
	if !left {
		nx, ny = -dy, dx
	}
	px, py := (2*x+dx+nx-1)>>1, (2*y+dy+ny-1)>>1
	return py*r.w + px
}

// neighbours returns the labels other than own around a pixel.
func (r *regions) neighbours(k int, own int32, add func(l int32)) {
	for _, d := range [8]int{1, 1 - r.w, -r.w, -1 - r.w, -1, r.w - 1, r.w, r.w + 1} {
		if l := r.label[k+d]; l != 0 && l != own {
			add(l)
		}
	}
}

// touches reports whether pixel k shares a side with region l.
func (r *regions) touches(k int, l int32) bool {
	return r.label[k+1] == l || r.label[k-1] == l || r.label[k+r.w] == l || r.label[k-r.w] == l
}

// absorb renames region b to a and gives a the wall pixels between the two that
// no third region touches.
func (r *regions) absorb(a, b int32, shared []int) {
	box := r.box[b]
	for y := box.y0; y <= box.y1; y++ {
		row := r.label[y*r.w:]
		for x := box.x0; x <= box.x1; x++ {
			if row[x] == b {
				row[x] = a
			}
		}
	}
	r.area[a] += r.area[b]
	r.area[b] = 0
	r.first[a] = min(r.first[a], r.first[b])
	r.box[a].include(box.x0, box.x1, box.y0)
	r.box[a].include(box.x0, box.x1, box.y1)
	for _, k := range shared {
		third := false
		r.neighbours(k, a, func(int32) { third = true })
		if !third {
			r.give(k, a)
		}
	}
}
