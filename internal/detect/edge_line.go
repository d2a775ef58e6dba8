package detect

import (
	"math"
	"sort"

	"fairedge/internal/plane"
)

// candidate is an outline that may be the traced edge, found in the view.
type candidate struct {
	kind     EdgeKind
	course   chain // along the ink's middle or the border, to a pixel or two
	bridged  []bool
	sheet    []bool // runs along the sheet's edge
	area     float64
	contrast float64 // grey levels
	seen     float64 // share that shows ink
	step     float64 // grey levels between the grounds on both sides
	score    float64
	level    int
	verdict  string
}

// strokes are the thinned lines of a view at one contrast level.
type strokes struct {
	level   int
	lines   *grid // thinned, spurs dropped, bridged
	bridges *grid
	hardly  bool // too few for any outline: not bridged
}

// thinned returns everything that is darker than its ground by the level, thinned,
// without specks and spurs; in the blocks within only, unless nil.
func (v *inkView) thinned(level int, within *grid, params EdgeParams) *grid {
	g := newGrid(v.w, v.h)
	spreadRows(v.h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			row := g.pix[y*v.w : (y+1)*v.w]
			for x, c := range v.contrast[y*v.w:][:v.w] {
				if int(c) >= level && (within == nil || within.pix[y/chromaStep*within.w+x/chromaStep] != 0) {
					row[x] = 1
				}
			}
		}
	})
	g.clearBorder()
	g.dropSpecks(int(params.Speck / v.scale))
	g.thin()
	g.dropSpurs(int(3/v.scale + 0.5))
	return g
}

// bridged returns the strokes of a thinned level with their gaps carried over. An
// outline of MinArea has 430 mm round it, of which a quarter at least is drawn.
func (v *inkView) bridged(level int, bare *grid, params EdgeParams) strokes {
	if float64(bare.count())*v.scale < 100 {
		return strokes{level: level, lines: bare, hardly: true}
	}
	g := bare.clone()
	bridges := g.bridge(params.Gap/v.scale, params.GapTurn, 5/v.scale)
	return strokes{level: level, lines: g, bridges: bridges}
}

// lineCandidates returns the closed lines among the strokes, best first.
func (v *inkView) lineCandidates(s strokes, params EdgeParams) []candidate {
	if s.hardly {
		return nil
	}
	walls := s.lines.clone()
	walls.prune()
	least := params.MinArea / (v.scale * v.scale)
	if float64(len(walls.set())) < 2*math.Sqrt(math.Pi*least)*0.9 {
		return nil // too little for a way round that area (a circle's, in steps along the pixels' diagonals)
	}
	r := v.regionsOf(walls)
	defer v.release(r)
	var found []candidate
	for l := 1; l < len(r.area); l++ {
		if r.open[l] || r.area[l] == 0 || float64(r.area[l]) < least/8 {
			continue
		}
		v.takeSides(r, int32(l), params)
		v.takeHalves(r, int32(l))
		way := r.around(int32(l))
		if way.area < least {
			continue
		}
		c := v.lineCandidate(way, s)
		v.judgeLine(&c, params)
		found = append(found, c)
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].score > found[j].score })
	return found
}

// lineCandidate turns a region's border into a way over the bench.
func (v *inkView) lineCandidate(way regionBorder, s strokes) candidate {
	n := len(way.outside)
	c := candidate{kind: Line, level: s.level, area: way.area * v.scale * v.scale}
	c.course, c.bridged, c.sheet = make(chain, n), make([]bool, n), make([]bool, n)
	var inked []float64
	for i, k := range way.outside {
		j := n - 1 - i // the region lies to the right of the way: turn it round
		c.course[j] = v.pointOf(float64(k%v.w)+0.5, float64(k/v.w)+0.5)
		c.bridged[j] = s.bridges.pix[k] != 0
		if !c.bridged[j] {
			inked = append(inked, float64(v.darkest(k)))
		}
	}
	c.seen = float64(len(inked)) / float64(n)
	c.contrast = quantile(inked, 0.5)
	return c
}

// judgeLine scores a closed line: dark, unbroken, on one and the same ground.
func (v *inkView) judgeLine(c *candidate, params EdgeParams) {
	c.step = v.groundStep(c.course, params.PenWidest/2+3)
	c.score = c.contrast * c.seen * c.seen
	switch {
	case c.step > params.GroundStep:
		c.verdict = "a border between two surfaces, not a line"
	case c.seen < params.LineShare:
		c.verdict = "too much of it is missing"
	}
	if c.verdict != "" {
		c.score = 0
	}
}

// groundStep returns how much the ground differs between the two sides of a way,
// as the median over it of the change of grey and colour, off millimetres away
// on either side.
func (v *inkView) groundStep(way chain, off float64) float64 {
	return v.groundStepAlong(way.smooth(2/v.scale), off)
}

// groundStepAlong is groundStep for a way that is smooth already or open.
func (v *inkView) groundStepAlong(smooth chain, off float64) float64 {
	var greys, blues, reds []float64
	for i := 0; i < len(smooth); i += max(1, int(2/v.scale)) {
		normal := smooth.direction(i, 3).TurnRight().Scale(off)
		g1, b1, r1, ok1 := v.surface(smooth[i].Add(normal))
		g2, b2, r2, ok2 := v.surface(smooth[i].Add(normal.Neg()))
		if ok1 && ok2 {
			greys = append(greys, math.Abs(g1-g2))
			blues = append(blues, math.Abs(b1-b2))
			reds = append(reds, math.Abs(r1-r2))
		}
	}
	return quantile(greys, 0.5) + 2*math.Max(quantile(blues, 0.5), quantile(reds, 0.5))
}

// quantile returns the value below which the share q of the values lies; 0 when
// there are none. It reorders values.
func quantile(values []float64, q float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sort.Float64s(values)
	return values[min(len(values)-1, int(q*float64(len(values))))]
}

// side is a small region beside a large one.
type side struct {
	label          int32
	shared, beyond []int // wall pixels between the two, and around the rest of the small one
}

// takeSides adds to region l the small regions beside it whose far wall is the
// better outline: clearly darker than the wall between (a marker line beside a
// pencil line), or as dark and shorter (the straight line past a letter's loop).
func (v *inkView) takeSides(r *regions, l int32, params EdgeParams) {
	limit := params.SideArea / (v.scale * v.scale)
	for range 4 {
		taken := false
		for _, s := range r.sides(l, limit) {
			dark, other := v.meanContrast(s.shared), v.meanContrast(s.beyond)
			darker := other > 1.25*dark
			alike := other > 0.8*dark && len(s.beyond) < len(s.shared)
			if darker || alike {
				r.absorb(l, s.label, s.shared)
				taken = true
			}
		}
		if !taken {
			return
		}
	}
}

// takeHalves adds to region l what lies on the far side of a line drawn across
// the outline (a centre line from back to front): a neighbour that shares a
// lesser part of both borders, with a line between that is no darker than the
// outline. A line drawn around another shares all of the inner one's border.
func (v *inkView) takeHalves(r *regions, l int32) {
	const most = 0.45
	whole := float64(len(r.around(l).outside))
	for _, s := range r.sides(l, math.Inf(1)) {
		other := float64(len(s.shared) + len(s.beyond))
		shared := float64(len(s.shared))
		if shared < 0.05*whole || shared > most*whole || shared > most*other {
			continue
		}
		if v.meanContrast(s.shared) < 1.25*v.meanContrast(s.beyond) {
			r.absorb(l, s.label, s.shared)
			whole = float64(len(r.around(l).outside))
		}
	}
}

func (v *inkView) meanContrast(pixels []int) float64 {
	sum := 0.0
	for _, k := range pixels {
		sum += float64(v.darkest(k))
	}
	return sum / math.Max(1, float64(len(pixels)))
}

// sides returns the closed regions of less than limit pixels that share a wall
// with region l, in order of label.
func (r *regions) sides(l int32, limit float64) []side {
	way := r.around(l)
	shared := map[int32][]int{}
	for _, k := range way.outside {
		last := int32(0)
		r.neighbours(k, l, func(s int32) {
			if s != last && !r.open[s] && float64(r.area[s]) < limit {
				shared[s] = append(shared[s], k)
				last = s
			}
		})
	}
	var all []side
	for s, wall := range shared {
		all = append(all, side{label: s, shared: wall})
	}
	sort.Slice(all, func(i, j int) bool { return all[i].label < all[j].label })
	for i := range all {
		s := &all[i]
		for _, k := range r.around(s.label).outside {
			if !r.touches(k, l) {
				s.beyond = append(s.beyond, k)
			}
		}
	}
	return all
}

// middle returns the centroid of a chain's points.
func (c chain) middle() plane.Point {
	var x, y float64
	for _, p := range c {
		x += p.X
		y += p.Y
	}
	n := float64(len(c))
	return plane.Point{X: x / n, Y: y / n}
}
