package nest

import "math"

// layout says where every piece lies.
type layout struct {
	strip strip
	pose  []int // index in the piece's poses
	at    []vec
}

func (l *layout) clone() layout {
	return layout{l.strip, append([]int(nil), l.pose...), append([]vec(nil), l.at...)}
}

func (l *layout) copyFrom(m *layout) {
	l.strip = m.strip
	copy(l.pose, m.pose)
	copy(l.at, m.at)
}

func (l *layout) poseOf(k int) *pose { return &l.strip.in.pieces[k].poses[l.pose[k]] }

// used returns the length the pieces need.
func (l *layout) used() float64 {
	in := l.strip.in
	used := 0.0
	for k := range in.pieces {
		used = math.Max(used, in.measure(l.at[k].x+in.forms[l.poseOf(k).form].size.x))
	}
	return used
}

// pairDepth returns by how much pieces i and j overlap, in nm.
func (l *layout) pairDepth(i, j int) float64 {
	return l.strip.in.sightOf(l.poseOf(i).form, l.poseOf(j).form).depthAt(l.at[i].sub(l.at[j]))
}

// conflicts holds the depth of every pair and the weight the search gives it.
type conflicts struct {
	n      int
	depth  []float64 // n × n, symmetric
	weight []float64 // n × n, symmetric, at least 1
}

func newConflicts(n int) *conflicts {
	c := &conflicts{n: n, depth: make([]float64, n*n), weight: make([]float64, n*n)}
	c.resetWeights()
	return c
}

func (c *conflicts) resetWeights() {
	for i := range c.weight {
		c.weight[i] = 1
	}
}

// measure fills in the depths of all pairs.
func (c *conflicts) measure(l *layout) {
	for i := range c.n {
		for j := range i {
			c.set(i, j, l.pairDepth(i, j))
		}
	}
}

func (c *conflicts) set(i, j int, depth float64) {
	c.depth[i*c.n+j], c.depth[j*c.n+i] = depth, depth
}

// measurePiece fills in the depths of all pairs of piece k.
func (c *conflicts) measurePiece(l *layout, k int) {
	for j := range c.n {
		if j != k {
			c.set(k, j, l.pairDepth(k, j))
		}
	}
}

// loss returns the sum of all depths.
func (c *conflicts) loss() float64 {
	total := 0.0
	for i := range c.n {
		for _, d := range c.depth[i*c.n : i*c.n+i] {
			total += d
		}
	}
	return total
}

// weighted returns the weighted sum of the depths of piece k.
func (c *conflicts) weighted(k int) float64 {
	total := 0.0
	row, w := c.depth[k*c.n:(k+1)*c.n], c.weight[k*c.n:(k+1)*c.n]
	for j, d := range row {
		total += d * w[j]
	}
	return total
}

// mostWeight keeps weights that double pass after pass, and their sums with depths,
// finite.
const mostWeight = 1e50

// learn raises the weights of the pairs in conflict, the worst by most, and lets the
// others fade: guided local search in the multiplicative form of Gardeyn et al. 2025.
func (c *conflicts) learn(p *searchParams) {
	worst := 0.0
	for _, d := range c.depth {
		if d > worst {
			worst = d
		}
	}
	if worst == 0 {
		return
	}
	for i, d := range c.depth {
		if d > 0 {
			c.weight[i] = min(mostWeight, c.weight[i]*(p.riseLeast+(p.riseMost-p.riseLeast)*d/worst))
		} else if c.weight[i] > 1 {
			if c.weight[i] *= p.fade; c.weight[i] < 1 {
				c.weight[i] = 1
			}
		}
	}
}
