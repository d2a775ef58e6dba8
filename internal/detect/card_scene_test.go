package detect

import (
	"math"
	"math/rand"
	"runtime"
	"sync"

	"fairedge/internal/card"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// cardScene is a pinhole view of cards on a flat bench, with exact truth.
type cardScene struct {
	width, height int
	mmPerPx       float64 // at the middle of the picture, across the tilt
	tilt          float64 // radians, of the bench against the picture
	azimuth       float64 // direction of the tilt axis on the bench, radians
	roll          float64 // turn of the camera, radians
	focal         float64 // px; 0 = 1.2 times the width
	k1            float64 // radial distortion, of the squared tangent
	blur          float64 // px, standard deviation
	noise         float64 // grey values, standard deviation
	cards         []placedCard
	mirrored      bool
	shade         func(x, y float64) float64 // share of light at a bench place, nil = 1
	cover         func(x, y float64) bool    // covered by something grey, nil = nothing
	tone          float64                    // exponent of the tone curve, 0 = linear
	ground        float64                    // reflectance of the bench, 0 = 0.5
	seed          int64
	oversampling  int // samples a side that a pixel is averaged from, 0 = 4
}

type placedCard struct {
	id            card.ID
	benchFromCard plane.Rigid
}

// camera maps the bench to the photo.
type sceneCamera struct {
	s        *cardScene
	distance float64
	r        [3][3]float64
}

func (s *cardScene) camera() sceneCamera {
	f := s.focal
	if f == 0 {
		f = 1.2 * float64(s.width)
	}
	s.focal = f
	c := sceneCamera{s: s, distance: s.mmPerPx * f}
	sa, ca := math.Sincos(s.azimuth)
	st, ct := math.Sincos(s.tilt)
	sr, cr := math.Sincos(s.roll)
	turn := mul3([3][3]float64{{1, 0, 0}, {0, ct, -st}, {0, st, ct}}, [3][3]float64{{ca, sa, 0}, {-sa, ca, 0}, {0, 0, 1}})
	turn = mul3([3][3]float64{{ca, -sa, 0}, {sa, ca, 0}, {0, 0, 1}}, turn)
	c.r = mul3([3][3]float64{{cr, -sr, 0}, {sr, cr, 0}, {0, 0, 1}}, turn)
	return c
}

func mul3(a, b [3][3]float64) (m [3][3]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				m[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return m
}

// project returns where a bench place appears; the bench's y turns over.
func (c sceneCamera) project(p plane.Point) photo.Point {
	x := c.r[0][0]*p.X + c.r[0][1]*p.Y
	y := c.r[1][0]*p.X + c.r[1][1]*p.Y
	z := c.r[2][0]*p.X + c.r[2][1]*p.Y + c.distance
	u, v := x/z, y/z
	d := 1 + c.s.k1*(u*u+v*v)
	px := photo.Point{X: c.s.focal*u*d + float64(c.s.width)/2, Y: -c.s.focal*v*d + float64(c.s.height)/2}
	if c.s.mirrored {
		px.X = float64(c.s.width) - px.X
	}
	return px
}

// bench returns the bench place seen at a place of the photo.
func (c sceneCamera) bench(q photo.Point) plane.Point {
	if c.s.mirrored {
		q.X = float64(c.s.width) - q.X
	}
	ud, vd := (q.X-float64(c.s.width)/2)/c.s.focal, -(q.Y-float64(c.s.height)/2)/c.s.focal
	u, v := ud, vd
	if c.s.k1 != 0 {
		for range 8 {
			d := 1 + c.s.k1*(u*u+v*v)
			u, v = ud/d, vd/d
		}
	}
	// (r00 - u r20) X + (r01 - u r21) Y = u·distance, and likewise for v.
	a, b := c.r[0][0]-u*c.r[2][0], c.r[0][1]-u*c.r[2][1]
	d, e := c.r[1][0]-v*c.r[2][0], c.r[1][1]-v*c.r[2][1]
	det := a*e - b*d
	return plane.Point{X: (u*c.distance*e - b*v*c.distance) / det, Y: (a*v*c.distance - u*c.distance*d) / det}
}

// render draws the scene: reflectance averaged over the pixel, at many places
// where its corners differ, then Gaussian blur, tone curve, noise.
func (s *cardScene) render() *photo.Photo {
	c := s.camera()
	designs := make([]card.Design, len(s.cards))
	inverse := make([]plane.Rigid, len(s.cards))
	for k, p := range s.cards {
		designs[k], _ = card.DesignOf(p.id)
		inverse[k] = p.benchFromCard.Inverse()
	}
	n := s.oversampling
	if n == 0 {
		n = 4
	}
	corners := make([]float32, (s.width+1)*(s.height+1))
	parallelRows(s.height+1, func(y int) {
		for x := 0; x <= s.width; x++ {
			corners[y*(s.width+1)+x] = float32(s.reflectance(c.bench(photo.Point{X: float64(x), Y: float64(y)}), designs, inverse))
		}
	})
	light := make([]float32, s.width*s.height)
	parallelRows(s.height, func(y int) {
		for x := 0; x < s.width; x++ {
			k := y*(s.width+1) + x
			four := [4]float32{corners[k], corners[k+1], corners[k+s.width+1], corners[k+s.width+2]}
			low, high := min(four[0], four[1], four[2], four[3]), max(four[0], four[1], four[2], four[3])
			light[y*s.width+x] = (four[0] + four[1] + four[2] + four[3]) / 4
			if high-low < 0.02 {
				continue // no edge in this pixel: the smallest thing, a dot, is larger
			}
			sum := 0.0
			for k := range n * n {
				// Sheared, so that upright edges too meet n² different places.
				i, j := float64(k%n), float64(k/n)
				q := photo.Point{
					X: float64(x) + (i+(j+0.5)/float64(n))/float64(n),
					Y: float64(y) + (j+(i+0.5)/float64(n))/float64(n),
				}
				sum += s.reflectance(c.bench(q), designs, inverse)
			}
			light[y*s.width+x] = float32(sum / float64(n*n))
		}
	})
	if s.blur > 0 {
		light = blurred(light, s.width, s.height, s.blur)
	}
	return s.expose(light)
}

func (s *cardScene) reflectance(p plane.Point, designs []card.Design, inverse []plane.Rigid) float64 {
	value := s.ground
	if value == 0 {
		value = 0.5
	}
	if s.cover != nil && s.cover(p.X, p.Y) {
		return 0.35
	}
	for k, d := range designs {
		q := inverse[k].Apply(p)
		if math.Abs(q.X) > d.Width/2 || math.Abs(q.Y) > d.Height/2 {
			continue
		}
		c, r := int(math.Floor((q.X-d.FieldMin.X)/card.Pitch)), int(math.Floor((q.Y-d.FieldMin.Y)/card.Pitch))
		if d.Ring > 0 && c >= d.Ring && r >= d.Ring && c < d.Cols-d.Ring && r < d.Rows-d.Ring {
			continue // the frame is open inside
		}
		value = 0.85
		if d.IsInk(q) {
			value = 0.06
		}
	}
	if s.shade != nil {
		value *= s.shade(p.X, p.Y)
	}
	return value
}

func (s *cardScene) expose(light []float32) *photo.Photo {
	p := &photo.Photo{Width: s.width, Height: s.height, Luma: make([]uint8, len(light))}
	random := rand.New(rand.NewSource(s.seed + 1))
	for k, v := range light {
		g := math.Max(0, float64(v))
		if s.tone != 0 {
			g = math.Pow(g, s.tone)
		}
		p.Luma[k] = uint8(math.Max(0, math.Min(255, math.Round(255*g+s.noise*random.NormFloat64()))))
	}
	w, h := p.ChromaSize()
	p.Cb, p.Cr = make([]uint8, w*h), make([]uint8, w*h)
	for k := range p.Cb {
		p.Cb[k], p.Cr[k] = 128, 128
	}
	return p
}

func parallelRows(n int, row func(y int)) {
	var group sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		group.Add(1)
		go func() {
			defer group.Done()
			for y := w; y < n; y += workers {
				row(y)
			}
		}()
	}
	group.Wait()
}

// blurred convolves with a Gaussian cut at four standard deviations.
func blurred(src []float32, w, h int, sigma float64) []float32 {
	n := int(math.Ceil(4 * sigma))
	kernel := make([]float32, 2*n+1)
	sum := 0.0
	for k := range kernel {
		g := math.Exp(-float64((k-n)*(k-n)) / (2 * sigma * sigma))
		kernel[k] = float32(g)
		sum += g
	}
	for k := range kernel {
		kernel[k] /= float32(sum)
	}
	tmp, dst := make([]float32, len(src)), make([]float32, len(src))
	parallelRows(h, func(y int) {
		for x := 0; x < w; x++ {
			var v float32
			for k, g := range kernel {
				v += g * src[y*w+max(0, min(w-1, x+k-n))]
			}
			tmp[y*w+x] = v
		}
	})
	parallelRows(h, func(y int) {
		for k, g := range kernel {
			row := tmp[max(0, min(h-1, y+k-n))*w:]
			for x := 0; x < w; x++ {
				dst[y*w+x] += g * row[x]
			}
		}
	})
	return dst
}

// truth returns where the marks of a placed card lie in the photo.
func (s *cardScene) truth(p placedCard) map[card.Lattice]photo.Point {
	c := s.camera()
	d, _ := card.DesignOf(p.id)
	marks := map[card.Lattice]photo.Point{}
	for _, m := range d.Marks() {
		marks[m] = c.project(p.benchFromCard.Apply(d.Mark(m.I, m.J)))
	}
	return marks
}

// errorsOf returns the rms and largest distance of a sighting's marks from the
// truth, and the rms of the errors per axis in units of the stated uncertainty.
func (s *cardScene) errorsOf(got Sighting, p placedCard) (rms, worst, reduced float64) {
	truth := s.truth(p)
	for _, m := range got.Marks {
		t := truth[m.At]
		dx, dy := m.Photo.X-t.X, m.Photo.Y-t.Y
		sq := dx*dx + dy*dy
		rms += sq / 2
		reduced += sq / 2 / (m.Sigma * m.Sigma)
		worst = math.Max(worst, math.Sqrt(sq))
	}
	n := float64(len(got.Marks))
	return math.Sqrt(rms / n), worst, math.Sqrt(reduced / n)
}
