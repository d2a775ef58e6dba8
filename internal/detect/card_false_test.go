package detect

import (
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"testing"

	"fairedge/internal/photo"
)

const distractorWidth, distractorHeight = 240, 190

// distractor draws picture number n of things that are like a card and are none.
func distractor(n int) (*photo.Photo, string) {
	random := rand.New(rand.NewSource(int64(n)))
	kind := distractorKinds[n%len(distractorKinds)]
	tone := kind.pattern(random)
	p := &photo.Photo{Width: distractorWidth, Height: distractorHeight, Luma: make([]uint8, distractorWidth*distractorHeight)}
	size := 9 + 11*random.Float64()
	sin, cos := math.Sincos(2 * math.Pi * random.Float64())
	tiltX, tiltY := 0.0015*(random.Float64()-0.5), 0.0015*(random.Float64()-0.5)
	noise := 6 * random.Float64()
	for k := range p.Luma {
		sum := 0.0
		for s := range 4 {
			x := float64(k%distractorWidth) + (float64(s%2)+0.5)/2 - distractorWidth/2
			y := float64(k/distractorWidth) + (float64(s/2)+0.5)/2 - distractorHeight/2
			w := size * (1 + tiltX*x + tiltY*y)
			sum += tone((cos*x+sin*y)/w, (cos*y-sin*x)/w)
		}
		p.Luma[k] = uint8(math.Max(0, math.Min(255, 30+190*sum/4+noise*random.NormFloat64())))
	}
	return p, kind.name
}

// Patterns give the tone, 0 to 1, at a place in units of one cell.
var distractorKinds = []struct {
	name    string
	pattern func(random *rand.Rand) func(x, y float64) float64
}{
	{"plain chessboard", func(*rand.Rand) func(x, y float64) float64 { return chess }},
	{"chessboard with dots at random", func(r *rand.Rand) func(x, y float64) float64 {
		seed := r.Uint64()
		return func(x, y float64) float64 {
			return dotted(x, y, hash(seed, x, y)>>63 == 1)
		}
	}},
	{"chessboard with a dot in every cell", func(*rand.Rand) func(x, y float64) float64 {
		return func(x, y float64) float64 { return dotted(x, y, true) }
	}},
	{"chessboard with dots in rows", func(r *rand.Rand) func(x, y float64) float64 {
		period := 2 + float64(r.Intn(3))
		return func(x, y float64) float64 {
			return dotted(x, y, math.Mod(math.Abs(math.Floor(x+2*math.Floor(y))), period) == 0)
		}
	}},
	{"cloth in two colours", func(*rand.Rand) func(x, y float64) float64 {
		return func(x, y float64) float64 {
			return (pick(math.Mod(math.Abs(x), 2) < 1, 0.5, 0) + pick(math.Mod(math.Abs(y), 2) < 1, 0.5, 0))
		}
	}},
	{"tiles with joints", func(r *rand.Rand) func(x, y float64) float64 {
		seed := r.Uint64()
		return func(x, y float64) float64 {
			if frac(x) < 0.06 || frac(y) < 0.06 {
				return 0.9
			}
			return float64(hash(seed, x, y)>>56) / 256
		}
	}},
	{"squares dark and light at random", func(r *rand.Rand) func(x, y float64) float64 {
		seed := r.Uint64()
		return func(x, y float64) float64 { return pick(hash(seed, x, y)>>63 == 1, 0, 1) }
	}},
	{"lines of text", func(r *rand.Rand) func(x, y float64) float64 {
		seed := r.Uint64()
		return func(x, y float64) float64 {
			if frac(y) > 0.6 {
				return 1
			}
			return pick(hash(seed, 6*x, 6*y)>>62 == 0, 0, 1)
		}
	}},
}

func frac(x float64) float64 { return x - math.Floor(x) }

func chess(x, y float64) float64 {
	return pick(math.Mod(math.Abs(math.Floor(x)+math.Floor(y)), 2) == 0, 0, 1)
}

func dotted(x, y float64, dot bool) float64 {
	if dot && math.Hypot(frac(x)-0.5, frac(y)-0.5) < 1.2/7 {
		return 1 - chess(x, y)
	}
	return chess(x, y)
}

// hash gives every cell its own random number (a xorshift-multiply of the kind of
// Steele et al. 2014; other constants than the cards').
func hash(seed uint64, x, y float64) uint64 {
	z := seed ^ uint64(int64(math.Floor(x)))*0x9fb21c651e98df25 ^ uint64(int64(math.Floor(y)))*0xc2b2ae3d27d4eb4f
	z = (z ^ z>>32) * 0xd6e8feb86659fd93
	z = (z ^ z>>32) * 0xd6e8feb86659fd93
	return z ^ z>>32
}

// No card may be found where there is none: 200 drawn pictures.
func TestNoCardInDistractors(t *testing.T) {
	lattices := map[string]int{}
	for n := range 200 {
		p, name := distractor(n)
		got, evidence, err := Cards(p, DefaultCardParams())
		if err == nil || len(got) != 0 || len(evidence.Mirrored) != 0 {
			t.Errorf("picture %d (%s): found %v, mirrored %v", n, name, got, evidence.Mirrored)
		}
		for _, s := range evidence.Searches {
			lattices[name] += s.Lattices
		}
	}
	// The pictures must be hard: the search has to get as far as reading dots.
	for _, name := range []string{"plain chessboard", "chessboard with dots at random", "chessboard with a dot in every cell"} {
		if lattices[name] < 25 {
			t.Errorf("%s: only %d lattices in 25 pictures: not a test of the reading", name, lattices[name])
		}
	}
}

// Real photographs of a plain chessboard; see testdata/chessboards/ORIGIN.md.
func TestNoCardInChessboardPhotos(t *testing.T) {
	paths, err := filepath.Glob("testdata/chessboards/*.jpg")
	if err != nil || len(paths) < 6 {
		t.Fatalf("photos are missing: %v %v", paths, err)
	}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		p, err := photo.Decode(data, photo.DefaultLimits())
		if err != nil {
			t.Fatal(err)
		}
		got, evidence, err := Cards(p, DefaultCardParams())
		if err == nil || len(got) != 0 || len(evidence.Mirrored) != 0 {
			t.Errorf("%s: found %v", path, got)
		}
	}
}
