package measure

import (
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/plane"

	"gonum.org/v1/gonum/mat"
)

// homographyFromPoints returns the projective map that carries each source point to
// its target (homogeneous, target ~ H source) with the least algebraic error, and
// false when the points are fewer than four or nearly in line. Both sets are
// normalised first: centroid at the origin, mean distance √2 (Hartley, "In defense
// of the eight-point algorithm", IEEE PAMI 19(6), 1997). It is a start for the fit
// only: with lens distortion it is wrong by millimetres.
func homographyFromPoints(source []plane.Point, target []camera.Normal) (camera.Mat3, bool) {
	if len(source) < 4 {
		return camera.Mat3{}, false
	}
	to := make([]plane.Point, len(target))
	for i, t := range target {
		to[i] = plane.Point(t)
	}
	sourceNormal, okS := normalising(source)
	targetNormal, okT := normalising(to)
	if !okS || !okT {
		return camera.Mat3{}, false
	}
	h, ok := leastAlgebraic(source, to, sourceNormal, targetNormal)
	back, invertible := targetNormal.Inverse()
	return back.Times(h).Times(sourceNormal), ok && invertible
}

// leastAlgebraic returns the map between the normalised sets. Each pair gives two
// rows of A h = 0; the answer is the eigenvector of AᵀA with the least eigenvalue.
// A second one as small means points in line.
func leastAlgebraic(source, target []plane.Point, sourceNormal, targetNormal camera.Mat3) (h camera.Mat3, ok bool) {
	ata := mat.NewSymDense(9, nil)
	for i := range source {
		s, t := sourceNormal.Apply(homogeneous(source[i])), targetNormal.Apply(homogeneous(target[i]))
		rowU := []float64{s[0], s[1], 1, 0, 0, 0, -t[0] * s[0], -t[0] * s[1], -t[0]}
		rowV := []float64{0, 0, 0, s[0], s[1], 1, -t[1] * s[0], -t[1] * s[1], -t[1]}
		ata.SymRankOne(ata, 1, mat.NewVecDense(9, rowU))
		ata.SymRankOne(ata, 1, mat.NewVecDense(9, rowV))
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(ata, true) {
		return h, false
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for k := range 9 {
		h[k/3][k%3] = vectors.At(k, 0)
	}
	values := eigen.Values(nil)
	return h, values[1] > 1e-9*values[8]
}

func homogeneous(p plane.Point) camera.Vec3 { return camera.Vec3{p.X, p.Y, 1} }

// normalising returns the similarity that centres points and scales their mean
// distance from the centre to √2.
func normalising(points []plane.Point) (camera.Mat3, bool) {
	var c plane.Point
	for _, p := range points {
		c.X += p.X / float64(len(points))
		c.Y += p.Y / float64(len(points))
	}
	mean := 0.0
	for _, p := range points {
		mean += p.DistanceTo(c) / float64(len(points))
	}
	k := math.Sqrt2 / mean
	return camera.Mat3{{k, 0, -k * c.X}, {0, k, -k * c.Y}, {0, 0, 1}}, mean > 0
}
