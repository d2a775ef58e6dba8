package measure

import (
	"math"
	"slices"
	"strings"

	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// ReachParams say what photos must show of a lens before it is believed.
type ReachParams struct {
	// Cell: a ninth of the picture counts as seen with so many marks in it, of all
	// photos together. A polynomial of the radius needs a few at every place; where
	// there are none it is free to swing. The middle may go without: there every lens is
	// straight.
	Cell int
	// Tilted photos must lean by TiltDegrees or more, and there must be at least so
	// many. Square on, focal length and distance cannot be told apart.
	Tilted      int
	TiltDegrees float64
	// Lean: the root mean square of the lean (sine of the tilt) in the direction in which
	// the photos lean least. With all of them leaning one way the principal point slides
	// along it. 0.08 is one photo in four at ten degrees.
	Lean float64
	// Uncertainty: what each parameter may be uncertain by (standard uncertainty): half
	// of what is thought of a phone without any photos (see Priors), less would not be
	// worth the profile. Centre is a share of the longer side.
	Focal, Centre, K1, K2, P float64
}

// DefaultReachParams returns the thresholds described at ReachParams.
func DefaultReachParams() ReachParams {
	return ReachParams{
		Cell: 8, Tilted: 3, TiltDegrees: 12, Lean: 0.08,
		Focal: 0.01, Centre: 0.0025, K1: 0.005, K2: 0.005, P: 5e-4,
	}
}

// LensReach says how much of the lens the photos show.
type LensReach struct {
	Cells        [3][3]int // marks in each ninth of the stored picture, row by row
	Seen         int       // how many of the nine have enough
	Tilted       int       // photos that lean enough
	GreatestTilt float64   // rad
	Lean         float64   // root mean square lean in the direction of the least
	Missing      []Lack    // what more photos should show; empty = enough
}

// Lack is one thing that the photos leave open.
type Lack struct{ What, Remedy string }

// Verdict returns nil when the photos show enough of the lens, and otherwise a
// problem.NotAccurateEnough that says what is missing and what to do about it.
func (r LensReach) Verdict() error {
	if len(r.Missing) == 0 {
		return nil
	}
	var what, remedy []string
	for _, lack := range r.Missing {
		what = append(what, lack.What)
		if !slices.Contains(remedy, lack.Remedy) {
			remedy = append(remedy, lack.Remedy)
		}
	}
	return problem.New(problem.NotAccurateEnough,
		"the photos do not show enough of the lens ("+strings.Join(what, "; ")+")", strings.Join(remedy, ", "))
}

func (l *LearnedLens) reachOf(views []LensView, params ReachParams) LensReach {
	var r LensReach
	width, height := views[0].Set.Width, views[0].Set.Height
	for _, view := range views {
		for _, t := range view.Set.Targets {
			for _, m := range t.Marks {
				r.Cells[third(m.Seen.Y, height)][third(m.Seen.X, width)]++
			}
		}
	}
	for _, row := range r.Cells {
		for _, n := range row {
			if n >= params.Cell {
				r.Seen++
			}
		}
	}
	for _, p := range l.Photos {
		r.GreatestTilt = math.Max(r.GreatestTilt, p.Tilt)
		if p.Tilt >= params.TiltDegrees*math.Pi/180 {
			r.Tilted++
		}
	}
	r.Lean = leastLean(l.Photos)
	r.Missing = append(missingPlaces(turnedCells(r.Cells, views[0].Orientation), params), r.missingTilts(params)...)
	if len(r.Missing) == 0 {
		r.Missing = l.doubts(params, float64(max(width, height)))
	}
	return r
}

func third(at float64, size int) int { return min(2, max(0, int(3*at/float64(size)))) }

// leastLean is the root of the least eigenvalue of the mean of the leans' squares.
func leastLean(photos []LensPhotoFit) float64 {
	var xx, xy, yy float64
	n := float64(len(photos))
	for _, p := range photos {
		xx += p.slope[0] * p.slope[0] / n
		xy += p.slope[0] * p.slope[1] / n
		yy += p.slope[1] * p.slope[1] / n
	}
	return math.Sqrt(math.Max(0, (xx+yy)/2-math.Hypot((xx-yy)/2, xy)))
}

// missingPlaces names the ninths without marks, of an upright picture.
func missingPlaces(cells [3][3]int, params ReachParams) []Lack {
	var places []string
	for row, names := range [3][3]string{
		{"upper left", "upper middle", "upper right"},
		{"middle left", "", "middle right"},
		{"lower left", "lower middle", "lower right"},
	} {
		for column, name := range names {
			if middle := row == 1 && column == 1; !middle && cells[row][column] < params.Cell {
				places = append(places, name)
			}
		}
	}
	if len(places) == 0 {
		return nil
	}
	return []Lack{{"no photo shows a card in the " + strings.Join(places, ", ") + " of the picture", "take photos that do"}}
}

func (r LensReach) missingTilts(params ReachParams) []Lack {
	if r.Tilted < params.Tilted {
		return []Lack{{"too few photos are tilted", "lean the phone by about 30 degrees, to each of the four sides"}}
	}
	if r.Lean < params.Lean {
		return []Lack{{"all photos are tilted the same way", "lean the phone to the other sides too, and turn it upright and flat"}}
	}
	return nil
}

// doubts names the parameters that are still too uncertain.
func (l *LearnedLens) doubts(params ReachParams, longer float64) []Lack {
	u := l.Uncertainty
	remedy := "take more photos, closer, tilted, with cards in the corners of the picture"
	var lacks []Lack
	for _, c := range []struct {
		name         string
		value, limit float64
	}{
		{"focal length", u.Focal, params.Focal},
		{"middle", math.Max(u.CentreX, u.CentreY) / longer, params.Centre},
		{"distortion", math.Max(u.K1/params.K1, u.K2/params.K2), 1},
		{"decentring", math.Max(u.P1, u.P2), params.P},
	} {
		if c.value > c.limit {
			lacks = append(lacks, Lack{"the photos leave the lens's " + c.name + " uncertain", remedy})
		}
	}
	return lacks
}

// turnedCells turns the ninths of a stored picture upright.
func turnedCells(cells [3][3]int, orientation int) (up [3][3]int) {
	for row := range 3 {
		for column := range 3 {
			at := uprightFromStored(photo.Point{X: float64(column) + 0.5, Y: float64(row) + 0.5}, orientation, 3, 3)
			up[int(at.Y)][int(at.X)] = cells[row][column]
		}
	}
	return up
}
