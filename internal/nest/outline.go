package nest

import "math"

// ring is a simple closed outline, counter-clockwise, without repeated or
// collinear vertices, in whole nanometres.
type ring []vec

// doubleArea returns twice the signed area in nm².
func (r ring) doubleArea() float64 {
	sum := 0.0
	for i, p := range r {
		sum += p.sub(r[0]).cross(r[(i+1)%len(r)].sub(r[0]))
	}
	return sum
}

// cleaned returns the outline counter-clockwise and without repeated or collinear
// vertices (spikes that go out and back the same way vanish too).
func cleaned(points []vec) ring {
	r := append(ring(nil), points...)
	for i := 0; i < len(r); {
		n := len(r)
		prev, next := r[(i+n-1)%n], r[(i+1)%n]
		if n > 2 && r[i] != next && turnSign(prev, r[i], next) != 0 {
			i++
			continue
		}
		if n <= 3 {
			return nil
		}
		r = append(r[:i], r[i+1:]...)
		i = max(i-1, 0) // the neighbour may have become straight
	}
	if r.doubleArea() < 0 {
		for i, j := 0, len(r)-1; i < j; i, j = i+1, j-1 {
			r[i], r[j] = r[j], r[i]
		}
	}
	return r
}

// crossingEdges returns the first two edges of the outline, not neighbours, that
// meet; ok is false when the outline is simple.
func (r ring) crossingEdges() (i, j int, ok bool) {
	n := len(r)
	for i := range r {
		for j := i + 1; j < n; j++ {
			if j == i+1 || (i == 0 && j == n-1) {
				continue
			}
			if segmentsMeet(r[i], r[(i+1)%n], r[j], r[(j+1)%n]) {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

// segmentsMeet reports whether the closed segments ab and cd share a point.
func segmentsMeet(a, b, c, d vec) bool {
	if !boxesTouch(boxOf([]vec{a, b}), boxOf([]vec{c, d})) {
		return false
	}
	return turnSign(a, b, c)*turnSign(a, b, d) <= 0 && turnSign(c, d, a)*turnSign(c, d, b) <= 0
}

func boxesTouch(b, c box) bool {
	return b.min.x <= c.max.x && c.min.x <= b.max.x && b.min.y <= c.max.y && c.min.y <= b.max.y
}

// turned returns the points mirrored (x → -x) when asked, then turned
// counter-clockwise about the origin, then rounded to whole nanometres. Quarter
// turns are exact.
func turned(points []vec, degrees float64, mirrored bool) []vec {
	cos, sin := cosSin(degrees)
	out := make([]vec, len(points))
	for i, p := range points {
		if mirrored {
			p.x = -p.x
		}
		out[i] = vec{cos*p.x - sin*p.y, sin*p.x + cos*p.y}.rounded()
	}
	return out
}

// cosSin returns cosine and sine of an angle in degrees, exact at quarter turns.
func cosSin(degrees float64) (cos, sin float64) {
	switch d := math.Mod(math.Mod(degrees, 360)+360, 360); d {
	case 0:
		return 1, 0
	case 90:
		return 0, 1
	case 180:
		return -1, 0
	case 270:
		return 0, -1
	default:
		sin, cos = math.Sincos(d * math.Pi / 180)
		return cos, sin
	}
}
