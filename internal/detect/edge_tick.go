package detect

import (
	"math"

	"fairedge/internal/plane"
)

// tickFinder looks for short strokes across a traced course, in the view: their
// place along the edge is good to a tenth of a millimetre there.
type tickFinder struct {
	*tracer
	ink   *inkView
	least float64 // grey levels that count as ink
}

// ticks returns the strokes that cross the course roughly squarely, in order
// along it. On a cut edge or a sheet's edge they only run inward.
func (t *tracer) ticks(ink *inkView, contrast float64) []Tick {
	f := &tickFinder{t, ink, math.Max(10, 0.35*contrast)}
	if t.kind == Cut {
		f.least = 20
	}
	var found []Tick
	n := len(t.chain)
	for i := 0; i < n; {
		if !f.crossedAt(i) {
			i++
			continue
		}
		last := i
		for last+1 < n && f.crossedAt(last+1) {
			last++
		}
		if float64(last-i)*t.params.Step < 8 {
			if tick, ok := f.follow((i + last) / 2); ok {
				found = addTick(found, tick)
			}
		}
		i = last + 1
	}
	return found
}

// addTick appends a tick unless it is the last one again, seen where the stroke's
// two sides cross the edge.
func addTick(found []Tick, tick Tick) []Tick {
	if n := len(found); n > 0 {
		last := found[n-1]
		length := math.Hypot(last.To.X-last.From.X, last.To.Y-last.From.Y)
		if math.Hypot(last.At.X-tick.At.X, last.At.Y-tick.At.Y) < length/3 {
			return found
		}
	}
	return append(found, tick)
}

// crossedAt reports whether there is ink just beyond the edge on every side
// where a tick must show.
func (f *tickFinder) crossedAt(i int) bool {
	if f.nearCorner(i) {
		return false
	}
	out := f.outward(i, 2)
	half := f.width/2 + 1.8
	if f.isEdge(i) {
		return f.dark(f.chain[i].Add(out.Scale(-1.5))) && f.dark(f.chain[i].Add(out.Scale(-2.5))) &&
			f.dark(f.chain[i].Add(out.Scale(-4)))
	}
	return f.darkBeside(i, out, half) && f.darkBeside(i, out, -half)
}

// darkBeside reports whether there is ink off millimetres outward of sample i, or
// a little to either side: a tick may lean.
func (f *tickFinder) darkBeside(i int, out plane.Vec, off float64) bool {
	p := f.chain[i].Add(out.Scale(off))
	for _, along := range [3]float64{0, -0.8, 0.8} {
		if f.dark(p.Add(out.TurnLeft().Scale(along))) {
			return true
		}
	}
	return false
}

func (f *tickFinder) nearCorner(i int) bool {
	return f.room(i, 8) < 8
}

func (f *tickFinder) dark(p plane.Point) bool { return f.contrastAt(p) >= f.least }

// contrastAt returns the ink at a bench point, bilinear between view pixels.
func (f *tickFinder) contrastAt(p plane.Point) float64 {
	x, y := f.ink.pixelOf(p)
	x, y = x-0.5, y-0.5
	c, r := int(math.Floor(x)), int(math.Floor(y))
	if c < 0 || r < 0 || c >= f.ink.w-1 || r >= f.ink.h-1 {
		return 0
	}
	fx, fy := x-float64(c), y-float64(r)
	k := r*f.ink.w + c
	px := f.ink.contrast
	top := float64(px[k])*(1-fx) + float64(px[k+1])*fx
	low := float64(px[k+f.ink.w])*(1-fx) + float64(px[k+f.ink.w+1])*fx
	return top*(1-fy) + low*fy
}

// follow traces a stroke inward and outward from sample i, fits a straight line
// and judges it.
func (f *tickFinder) follow(i int) (Tick, bool) {
	out := f.outward(i, 2)
	along := out.TurnLeft()
	var xs, ys []float64 // outward, along
	inner := f.arm(i, out.Neg(), along, &xs, &ys, -1)
	outer := 0.0
	if !f.isEdge(i) {
		outer = f.arm(i, out, along, &xs, &ys, 1)
	}
	length := inner + outer
	beyond := f.width/2 + 2 // blur reaches a millimetre past the line's own ink
	ends := inner >= beyond && (outer >= beyond || f.isEdge(i))
	if !ends || length < f.params.TickShortest || length > f.params.TickLongest || len(xs) < 6 {
		return Tick{}, false
	}
	line := fitPolynomial(xs, ys, 1, 1)
	if len(line) < 2 || math.Abs(line[1]) > 0.6 {
		return Tick{}, false
	}
	worst := 0.0
	for k, x := range xs {
		worst = math.Max(worst, math.Abs(ys[k]-line[0]-line[1]*x))
	}
	if worst > 1+0.03*length {
		return Tick{}, false
	}
	place := func(x float64) plane.Point {
		return f.chain[i].Add(out.Scale(x)).Add(along.Scale(line[0] + line[1]*x))
	}
	return Tick{
		At:   f.bench.PhotoFromPlane(place(0)),
		From: f.bench.PhotoFromPlane(place(-inner)),
		To:   f.bench.PhotoFromPlane(place(outer)),
	}, true
}

// arm walks from the edge along dir and records where across it the ink has its
// centre of gravity, until there is none. It returns how far it came.
func (f *tickFinder) arm(i int, dir, along plane.Vec, xs, ys *[]float64, sign float64) float64 {
	const step, side = 0.5, 2.0
	start := f.width/2 + 1.2
	if f.isEdge(i) {
		start = 2
	}
	lateral, reached, missed := 0.0, 0.0, 0
	for x := start; x < f.params.TickLongest+start && missed < 3; x += step {
		var sum, moment float64
		for y := lateral - side; y <= lateral+side; y += 0.25 {
			c := f.contrastAt(f.chain[i].Add(dir.Scale(x)).Add(along.Scale(y)))
			if c >= f.least/2 {
				sum += c
				moment += c * y
			}
		}
		if sum < 2*f.least {
			missed++
			continue
		}
		missed = 0
		lateral = moment / sum
		reached = x
		*xs, *ys = append(*xs, sign*x), append(*ys, lateral)
	}
	return reached
}
