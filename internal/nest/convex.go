package nest

// convexParts splits a simple outline into convex parts that cover it without
// overlap: ears are clipped off (Meisters 1975), then diagonals are removed while
// both ends stay convex (Hertel and Mehlhorn 1983: at most four times as many parts
// as the least possible).
func convexParts(r ring) []ring {
	if _, convex := withoutStraight(r); convex {
		return []ring{r}
	}
	parts := triangles(r)
	for i := 0; i < len(parts); i++ {
		for j := i + 1; j < len(parts); {
			merged, ok := mergedConvex(parts[i], parts[j])
			if !ok {
				j++
				continue
			}
			parts[i] = merged
			parts = append(parts[:j], parts[j+1:]...)
			j = i + 1
		}
	}
	return parts
}

// triangles clips ears off the outline until one triangle is left. The fattest
// ear goes first, which keeps slivers, and with them the parts, few.
func triangles(r ring) []ring {
	rest := append(ring(nil), r...)
	var out []ring
	for len(rest) > 3 {
		k := fattestEar(rest)
		n := len(rest)
		out = appendTriangle(out, rest[(k+n-1)%n], rest[k], rest[(k+1)%n])
		rest = append(rest[:k], rest[k+1:]...)
	}
	return appendTriangle(out, rest[0], rest[1], rest[2])
}

func appendTriangle(out []ring, a, b, c vec) []ring {
	if turnSign(a, b, c) <= 0 {
		return out // no area
	}
	return append(out, ring{a, b, c})
}

// fattestEar returns the vertex whose ear has the largest least height. A simple
// outline has at least two ears; a straight vertex left over by earlier clipping
// counts as an ear of no area when nothing better is there.
func fattestEar(r ring) int {
	best, bestFat := 0, -1.0
	n := len(r)
	for k := range r {
		a, b, c := r[(k+n-1)%n], r[k], r[(k+1)%n]
		sign := turnSign(a, b, c)
		if sign < 0 || (sign > 0 && !earIsEmpty(r, k)) {
			continue
		}
		longest := max(b.sub(a).length(), c.sub(b).length(), a.sub(c).length())
		if fat := b.sub(a).cross(c.sub(a)) / longest; fat > bestFat {
			best, bestFat = k, fat
		}
	}
	return best
}

// earIsEmpty reports whether no other vertex lies in the closed ear at k, except
// ones that coincide with its corners.
func earIsEmpty(r ring, k int) bool {
	n := len(r)
	a, b, c := r[(k+n-1)%n], r[k], r[(k+1)%n]
	for i, p := range r {
		if i == k || p == a || p == b || p == c {
			continue
		}
		if turnSign(a, b, p) >= 0 && turnSign(b, c, p) >= 0 && turnSign(c, a, p) >= 0 {
			return false
		}
	}
	return true
}

// mergedConvex joins two convex parts along a common edge when the union is convex.
func mergedConvex(p, q ring) (ring, bool) {
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		for j := range q {
			if q[j] != b || q[(j+1)%len(q)] != a {
				continue
			}
			union := make(ring, 0, len(p)+len(q)-2)
			for k := 1; k <= len(p); k++ {
				union = append(union, p[(i+k)%len(p)])
			}
			for k := 2; k < len(q); k++ {
				union = append(union, q[(j+k)%len(q)])
			}
			return withoutStraight(union)
		}
	}
	return nil, false
}

// withoutStraight drops straight vertices; ok is false when a vertex is reflex.
func withoutStraight(r ring) (ring, bool) {
	out := make(ring, 0, len(r))
	n := len(r)
	for i, p := range r {
		switch turnSign(r[(i+n-1)%n], p, r[(i+1)%n]) {
		case -1:
			return nil, false
		case 1:
			out = append(out, p)
		}
	}
	return out, true
}
