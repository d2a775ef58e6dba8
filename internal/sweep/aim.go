package sweep

import (
	"math"

	"fairedge/internal/plane"
)

// reachOf returns how far the box's corners lie from the photo's middle, as a share
// of its half size.
func reachOf(t Truth, box plane.Rect, distance, tilt, azimuth, roll float64) float64 {
	t.Aim(box.Centre(), distance, tilt, azimuth, roll)
	t.warp = nil
	reach := 0.0
	for _, p := range []plane.Point{box.Min, box.Max, {X: box.Min.X, Y: box.Max.Y}, {X: box.Max.X, Y: box.Min.Y}} {
		s := t.See(p.X, p.Y, 0)
		reach = math.Max(reach, math.Max(math.Abs(s.X-PhotoWidth/2)/(PhotoWidth/2), math.Abs(s.Y-PhotoHeight/2)/(PhotoHeight/2)))
	}
	return reach
}

func rollThatFits(t *Truth, box plane.Rect, tilt, azimuth float64) float64 {
	best, at := math.Inf(1), 0.0
	for k := range 72 {
		roll := float64(k) * math.Pi / 36
		if r := reachOf(*t, box, 900, tilt, azimuth, roll); r < best {
			best, at = r, roll
		}
	}
	return at
}

func DistanceThatFills(t *Truth, box plane.Rect, tilt, azimuth, roll, fill float64) float64 {
	low, high := 250.0, 5000.0
	for range 50 {
		middle := (low + high) / 2
		if reachOf(*t, box, middle, tilt, azimuth, roll) > fill {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}
