package testscene

import (
	"math"

	"fairedge/internal/plane"
)

// tile is a square texture that repeats: mean 0, values within about ±1, smooth
// between its points.
type tile struct {
	value [tileSize * tileSize]float32
	perMM float64
	turn  plane.Rigid // the tile's axes from the bench's
}

const tileSize = 512 // a power of two

// newWood makes grain that runs along the angle turn: stripes of several widths
// that wander along their length.
func newWood(seed uint64, turn float64) *tile {
	t := &tile{perMM: 1.3, turn: plane.RigidFromAngle(-turn, plane.Vec{})}
	for y := range tileSize {
		for x := range tileSize {
			wander := 6 * lattice(seed+1, x, y, 128, 64)
			v := 0.0
			for octave, scale := range []int{32, 8, 4} {
				yy := (float64(y) + wander) / float64(scale)
				v += 0.45 * latticeAt(seed+uint64(2+octave), float64(x)/float64(scale*16), yy,
					tileSize/(scale*16), tileSize/scale)
			}
			t.value[y*tileSize+x] = float32(v)
		}
	}
	return t
}

// newPaper makes the faint clouds of paper.
func newPaper(seed uint64) *tile {
	t := &tile{perMM: 1, turn: plane.Identity()}
	for y := range tileSize {
		for x := range tileSize {
			v := 0.6*lattice(seed+11, x, y, 64, 64) + 0.4*lattice(seed+12, x, y, 4, 4)
			t.value[y*tileSize+x] = float32(v)
		}
	}
	return t
}

// at returns the texture at p, bilinear.
func (t *tile) at(p plane.Point) float64 {
	q := t.turn.Apply(p)
	x, y := q.X*t.perMM, q.Y*t.perMM
	fx, fy := math.Floor(x), math.Floor(y)
	u, v := float32(x-fx), float32(y-fy)
	x0, y0 := int(fx)&(tileSize-1), int(fy)&(tileSize-1)
	x1, y1 := (x0+1)&(tileSize-1), (y0+1)&(tileSize-1)
	a, b := t.value[y0*tileSize+x0], t.value[y0*tileSize+x1]
	c, d := t.value[y1*tileSize+x0], t.value[y1*tileSize+x1]
	top, bottom := a+u*(b-a), c+u*(d-c)
	return float64(top + v*(bottom-top))
}

// lattice is value noise whose points lie stepX and stepY apart.
func lattice(seed uint64, x, y, stepX, stepY int) float64 {
	return latticeAt(seed, float64(x)/float64(stepX), float64(y)/float64(stepY), tileSize/stepX, tileSize/stepY)
}

// latticeAt interpolates random values at whole numbers, repeating after nx, ny.
func latticeAt(seed uint64, x, y float64, nx, ny int) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	u, v := smooth(x-fx), smooth(y-fy)
	at := func(i, j int) float64 {
		i, j = ((i%nx)+nx)%nx, ((j%ny)+ny)%ny
		return float64(hash(seed, uint64(i)<<32|uint64(j))>>11)/(1<<52) - 1
	}
	i, j := int(fx), int(fy)
	top := at(i, j) + u*(at(i+1, j)-at(i, j))
	bottom := at(i, j+1) + u*(at(i+1, j+1)-at(i, j+1))
	return top + v*(bottom-top)
}

func smooth(t float64) float64 { return t * t * (3 - 2*t) }

// hash mixes a seed and a counter (the finaliser of SplitMix64: Steele, Lea,
// Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014).
func hash(seed, n uint64) uint64 {
	z := seed*0x9e3779b97f4a7c15 + n*0xd1342543de82ef95 + 0x2545f4914f6cdd1d
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
