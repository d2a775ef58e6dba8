// Package nestcheck proves that a lay is sound: no two pieces overlap, all lie on
// their cloth or sheet, and distances, turns, repeats and numbers are as asked for.
// It shares no code with the solver it checks. All decisions are made in whole
// nanometres, by signs of determinants that are certain (exact.go).
//
// The meaning of a placement: the outline is rounded to whole nanometres, mirrored
// (x to -x) when flipped, turned counter-clockwise about its origin, rounded again,
// and moved by whole nanometres. Quarter turns need no rounding.
package nestcheck

import (
	"fmt"
	"math"

	"fairedge/internal/plane"
)

// Lay is what is to be checked; the fields mean what they mean for the solver. All
// lengths are in mm.
type Lay struct {
	Width, SheetLength float64 // SheetLength 0: one length of cloth
	UsedLength         float64 // of the last sheet
	Sheets             int
	Buffer, EdgeBuffer float64
	Items              []Item
	Pieces             []Piece
}

// Item is one outline, wanted Demand times.
type Item struct {
	Name    string
	Outline []plane.Point
	Demand  int
	Turns   []float64 // none: 0 only
	Flip    bool
	Repeat  *Repeat
}

// Repeat is a pattern that the reference point must fall on.
type Repeat struct {
	Reference            plane.Point
	Along, AlongOffset   float64
	Across, AcrossOffset float64
	HalfDrop             bool
}

// Piece is one placed outline. Fixed pieces do not count as demand and may have any
// turn and place of the pattern.
type Piece struct {
	Item    int
	Degrees float64
	Flipped bool
	Sheet   int
	At      plane.Vec
	Fixed   bool
}

// toleranceNM is what a wanted distance or a place of the pattern may be missed by:
// one nanometre, because places are whole nanometres. Overlap has no tolerance.
const toleranceNM = 1

// Check returns an error naming the first thing that is wrong, or nil.
func Check(l *Lay) error {
	placed := make([]polygon, len(l.Pieces))
	for i, p := range l.Pieces {
		if p.Item < 0 || p.Item >= len(l.Items) {
			return fmt.Errorf("piece %d is of no known item", i)
		}
		placed[i] = l.placed(p)
	}
	if err := l.checkNumbers(); err != nil {
		return err
	}
	for i, p := range l.Pieces {
		if err := l.checkAlone(i, p, placed[i]); err != nil {
			return err
		}
	}
	return l.checkPairs(placed)
}

func (l *Lay) checkNumbers() error {
	counts := make([]int, len(l.Items))
	for _, p := range l.Pieces {
		if !p.Fixed {
			counts[p.Item]++
		}
	}
	for i, it := range l.Items {
		if counts[i] != it.Demand {
			return fmt.Errorf("item %d (%s) is laid %d times, wanted %d", i, it.Name, counts[i], it.Demand)
		}
	}
	return nil
}

// checkAlone checks one piece against its cloth, turns and pattern.
func (l *Lay) checkAlone(i int, p Piece, q polygon) error {
	if p.Sheet < 0 || p.Sheet >= l.Sheets || (l.SheetLength == 0 && p.Sheet > 0) {
		return fmt.Errorf("piece %d lies on sheet %d of %d", i, p.Sheet, l.Sheets)
	}
	length := l.SheetLength
	if p.Sheet == l.Sheets-1 {
		length = l.UsedLength
	}
	if l.SheetLength > 0 && length > l.SheetLength {
		return fmt.Errorf("the last sheet is used over its length")
	}
	edge := nm(l.EdgeBuffer)
	for _, v := range q {
		if p.Fixed {
			edge = 0
		}
		if v.x < edge || v.y < edge || v.x > nm(length)-edge || v.y > nm(l.Width)-edge {
			return fmt.Errorf("piece %d leaves the cloth at (%d, %d) nm", i, v.x, v.y)
		}
	}
	if p.Fixed {
		return nil
	}
	return l.checkFreedom(i, p)
}

// checkFreedom checks that the turn and the place of the pattern are allowed.
func (l *Lay) checkFreedom(i int, p Piece) error {
	it := &l.Items[p.Item]
	if p.Flipped && !it.Flip {
		return fmt.Errorf("piece %d lies face down", i)
	}
	allowed := len(it.Turns) == 0 && p.Degrees == 0
	for _, d := range it.Turns {
		allowed = allowed || d == p.Degrees
	}
	if !allowed {
		return fmt.Errorf("piece %d is turned by %g degrees", i, p.Degrees)
	}
	if r := it.Repeat; r != nil && !r.holds(p) {
		return fmt.Errorf("piece %d lies off the pattern", i)
	}
	return nil
}

// holds reports whether the reference point falls on the pattern.
func (r *Repeat) holds(p Piece) bool {
	at := placedOutline([]plane.Point{r.Reference}, p)[0]
	column, off := 0.0, 0.0
	if r.Across > 0 {
		column, off = nearestStep(float64(at.y)-float64(nm(r.AcrossOffset)), r.Across*1e6)
		if off > toleranceNM {
			return false
		}
	}
	if r.Along == 0 {
		return true
	}
	x := float64(at.x) - float64(nm(r.AlongOffset))
	if r.HalfDrop && math.Mod(column, 2) != 0 {
		x -= r.Along * 1e6 / 2
	}
	_, off = nearestStep(x, r.Along*1e6)
	return off <= toleranceNM
}

// nearestStep returns which multiple of the step is nearest to v and how far it is.
func nearestStep(v, step float64) (k, off float64) {
	k = math.Round(v / step)
	return k, math.Abs(v - k*step)
}

func (l *Lay) checkPairs(placed []polygon) error {
	for i := range placed {
		for j := range i {
			if l.Pieces[i].Sheet != l.Pieces[j].Sheet || (l.Pieces[i].Fixed && l.Pieces[j].Fixed) {
				continue
			}
			if !placed[i].boxWithin(placed[j], nm(l.Buffer)) {
				continue
			}
			if interiorsMeet(placed[i], placed[j]) {
				return fmt.Errorf("pieces %d and %d overlap", j, i)
			}
			if b := nm(l.Buffer) - toleranceNM; b > 0 && closerThan(placed[i], placed[j], b) {
				return fmt.Errorf("pieces %d and %d are closer than the buffer", j, i)
			}
		}
	}
	return nil
}

func (l *Lay) placed(p Piece) polygon {
	return counterClockwise(placedOutline(l.Items[p.Item].Outline, p))
}

// placedOutline follows the meaning of a placement literally.
func placedOutline(outline []plane.Point, p Piece) polygon {
	out := make(polygon, 0, len(outline))
	for _, q := range outline {
		x, y := nm(q.X), nm(q.Y)
		if p.Flipped {
			x = -x
		}
		quarter := p.Degrees / 90
		if quarter == math.Trunc(quarter) {
			for range ((int64(quarter) % 4) + 4) % 4 {
				x, y = -y, x
			}
		} else {
			sin, cos := math.Sincos(math.Mod(math.Mod(p.Degrees, 360)+360, 360) * math.Pi / 180)
			fx, fy := float64(x), float64(y)
			x, y = int64(math.RoundToEven(cos*fx-sin*fy)), int64(math.RoundToEven(sin*fx+cos*fy))
		}
		out = append(out, point{x + nm(p.At.X), y + nm(p.At.Y)})
	}
	return out
}

func nm(mm float64) int64 { return int64(math.Round(mm * 1e6)) }
