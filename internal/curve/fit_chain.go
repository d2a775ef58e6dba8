package curve

import (
	"math"

	"fairedge/internal/plane"
)

// fitChain is a closed chain of lines and cubics. Piece i runs from joint i to
// joint i+1, round the end. Every joint but the corners has one direction: that
// of the line, if one of its pieces is straight, else its own.
type fitChain struct {
	joints []fitJoint
	pieces []fitArm
}

// fitJoint is where two pieces meet.
type fitJoint struct {
	at      plane.Point
	s       float64 // arc length of the samples there, [0, length)
	in, out float64 // direction of travel of the piece before and after, radians
	corner  bool
	name    int // kept while others come and go
}

// fitArm is one piece: straight, or a cubic with handle lengths a after its start
// and b before its end, mm.
type fitArm struct {
	line bool
	a, b float64
}

func (c fitChain) clone() fitChain {
	return fitChain{append([]fitJoint(nil), c.joints...), append([]fitArm(nil), c.pieces...)}
}

func (c *fitChain) next(i int) int {
	if i++; i == len(c.joints) {
		return 0
	}
	return i
}

func (c *fitChain) prev(i int) int { return (i + len(c.joints) - 1) % len(c.joints) }

// aim sets the directions at the ends of the lines from their joints.
func (c *fitChain) aim() {
	for i, p := range c.pieces {
		if !p.line {
			continue
		}
		j := c.next(i)
		dir := c.joints[j].at.Sub(c.joints[i].at).Angle()
		c.joints[i].out, c.joints[j].in = dir, dir
		if !c.joints[i].corner {
			c.joints[i].in = dir
		}
		if !c.joints[j].corner {
			c.joints[j].out = dir
		}
	}
}

// segment returns piece i.
func (c *fitChain) segment(i int) Segment {
	p, q := c.joints[i], c.joints[c.next(i)]
	if c.pieces[i].line {
		return Line(p.at, q.at)
	}
	return Cubic(p.at, p.at.Add(heading(p.out).Scale(c.pieces[i].a)),
		q.at.Add(heading(q.in).Scale(-c.pieces[i].b)), q.at)
}

func (c *fitChain) segments() []Segment {
	out := make([]Segment, len(c.pieces))
	for i := range out {
		out[i] = c.segment(i)
	}
	return out
}

// stretch returns the arc lengths between which the samples of piece i lie, the
// end beyond the start. A piece shorter than a block may have its joints' arc
// lengths the wrong way round: it has no samples, not nearly all of them.
func (c *fitChain) stretch(i int, length float64) (a, b float64) {
	a, b = c.joints[i].s, c.joints[c.next(i)].s
	if b < a {
		b += length
	}
	if b-a > 0.9*length {
		b = a
	}
	return a, b
}

func heading(angle float64) plane.Vec {
	sin, cos := math.Sincos(angle)
	return plane.Vec{X: cos, Y: sin}
}

// numbers counts the free numbers of the chain.
func (c *fitChain) numbers() int { return c.layout().count }

// newFitChain joins the pieces of the first cut: each joint at the mean of the
// ends that meet there, each corner where its sides meet.
func newFitChain(tr *fitTrace, cut []fitPiece, params FitParams) fitChain {
	c := fitChain{}
	type end struct {
		at  plane.Point
		dir float64
	}
	starts, ends := make([]end, len(cut)), make([]end, len(cut))
	for i, p := range cut {
		data := tr.dataBetween(p.s0, p.s1)
		arm := fitArm{line: p.line, a: (p.s1 - p.s0) / 3, b: (p.s1 - p.s0) / 3}
		if p.line || len(data) < 4 {
			r := tr.sums.ray(p.s0+0.1*(p.s1-p.s0), p.s1-0.1*(p.s1-p.s0))
			half := (p.s1 - p.s0) / 2
			starts[i] = end{r.at.Add(r.along.Scale(-half)), r.along.Angle()}
			ends[i] = end{r.at.Add(r.along.Scale(half)), r.along.Angle()}
		} else {
			seg, _ := handlesFor(p.iv.quintic)
			arm.a, arm.b = seg.P0.DistanceTo(seg.P1), seg.P2.DistanceTo(seg.P3)
			starts[i] = end{seg.P0, seg.P1.Sub(seg.P0).Angle()}
			ends[i] = end{seg.P3, seg.P3.Sub(seg.P2).Angle()}
		}
		c.pieces = append(c.pieces, arm)
	}
	for i, p := range cut {
		b := ends[(i+len(cut)-1)%len(cut)]
		j := fitJoint{s: p.s0 - math.Floor(p.s0/tr.length)*tr.length, in: b.dir, out: starts[i].dir}
		j.at = b.at.Lerp(starts[i].at, 0.5)
		for _, k := range tr.corners {
			if math.Abs(k.s-j.s) < 1e-6*tr.length {
				j.corner, j.at = true, k.at
			}
		}
		if !j.corner {
			mean := j.in + turnBetween(j.in, j.out)/2
			j.in, j.out = mean, mean
		}
		c.joints = append(c.joints, j)
	}
	c.joinLines(params)
	for j := range c.joints {
		c.joints[j].name = j
	}
	c.aim()
	return c
}

// newName returns a name that no joint has.
func (c *fitChain) newName() int {
	name := 0
	for _, j := range c.joints {
		name = max(name, j.name+1)
	}
	return name
}

// joinLines settles joints between two lines, which cannot be smooth: the lines
// become one, or a small fillet comes between them if they turn.
func (c *fitChain) joinLines(params FitParams) {
	for j := 0; j < len(c.joints); {
		joint := c.joints[j]
		if joint.corner || !c.pieces[j].line || !c.pieces[c.prev(j)].line {
			j++
			continue
		}
		in, out := joint.at.Sub(c.joints[c.prev(j)].at), c.joints[c.next(j)].at.Sub(joint.at)
		if math.Abs(in.AngleTo(out)) > params.NodeTurn || len(c.joints) <= 3 {
			c.insertFillet(j, in, out, params)
			j += 2
			continue
		}
		c.joints = append(c.joints[:j], c.joints[j+1:]...)
		c.pieces = append(c.pieces[:j], c.pieces[j+1:]...)
		j = 0
	}
}

// insertFillet replaces joint j, between lines along in and out, by a short cubic.
func (c *fitChain) insertFillet(j int, in, out plane.Vec, params FitParams) {
	d := math.Min(2*params.CornerMask, math.Min(in.Length(), out.Length())/3)
	a, b := c.joints[j], c.joints[j]
	a.at, a.s, a.in, a.out = a.at.Add(in.Unit().Scale(-d)), a.s-d, in.Angle(), in.Angle()
	b.at, b.s, b.in, b.out = b.at.Add(out.Unit().Scale(d)), b.s+d, out.Angle(), out.Angle()
	if a.s < 0 {
		a.s = 0
	}
	c.joints = append(c.joints[:j], append([]fitJoint{a, b}, c.joints[j+1:]...)...)
	c.pieces = append(c.pieces[:j], append([]fitArm{{a: 0.55 * d, b: 0.55 * d}}, c.pieces[j:]...)...)
}

// turnBetween returns the signed turn between two directions, in (-π, π].
func turnBetween(from, to float64) float64 { return math.Remainder(to-from, 2*math.Pi) }
