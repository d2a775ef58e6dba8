package likeness

import (
	"math"
	"sort"
)

// Index holds the signatures of many outlines, to find those that are like another one.
// The zero value is empty and ready to use. Adding and searching at the same time needs a
// lock; searches alone may run side by side.
type Index struct {
	ids        []int64
	signatures []Signature
}

// Add puts an outline's signature into the index under a number that Nearest returns.
func (x *Index) Add(id int64, s Signature) {
	x.ids = append(x.ids, id)
	x.signatures = append(x.signatures, s)
}

// Len returns how many outlines are in the index.
func (x *Index) Len() int { return len(x.ids) }

// Match is an outline that is like the one looked for.
type Match struct {
	ID int64
	// RMS is the root mean square distance in mm between points that lie the same share of
	// the way round, as far as the harmonics of the signatures go. It says which outlines
	// are worth a closer look; Register measures.
	RMS     float64
	Flipped bool    // the query fits when turned over
	Scale   float64 // the query fits when enlarged by this; 1 unless Options.Scale
}

// Nearest returns the n outlines most like the query, the most alike first; of equals
// the one added first. No outline is missed: one is passed over only when the magnitudes
// of its harmonics alone, which no turning, flipping or starting elsewhere changes, prove
// that n others are nearer.
func (x *Index) Nearest(query Signature, n int, o Options) []Match {
	if n <= 0 {
		return nil
	}
	order := x.byBound(query, o)
	align := newAligner()
	var found []Match
	var places []int
	worst := func() float64 {
		if len(found) < n {
			return math.Inf(1)
		}
		return found[n-1].RMS
	}
	for _, b := range order {
		if b.bound > worst() {
			break
		}
		a := align.alignments(&query, &x.signatures[b.place], o, 1)[0]
		m := Match{x.ids[b.place], a.rms, a.flipped, a.scale}
		at := sort.Search(len(found), func(i int) bool {
			return found[i].RMS > m.RMS || found[i].RMS == m.RMS && places[i] > b.place
		})
		if at == n {
			continue
		}
		found = append(found[:at], append([]Match{m}, found[at:]...)...)
		places = append(places[:at], append([]int{b.place}, places[at:]...)...)
		found, places = found[:min(n, len(found))], places[:min(n, len(places))]
	}
	return found
}

type bounded struct {
	place int
	bound float64 // the RMS is no less
}

// byBound returns all outlines by the least distance they can have. Since |c| is at most
// Σ|A||B|, the mean square is no less than Σ(|A|-|B|)², and ΣB² - (Σ|A||B|)²/ΣA² if the
// query may be scaled.
func (x *Index) byBound(query Signature, o Options) []bounded {
	var size [2 * harmonics]float64
	for i, c := range query.c {
		size[i] = math.Sqrt(squared(c))
	}
	powerA := query.power()
	order := make([]bounded, len(x.ids))
	for k := range x.signatures {
		var most, powerB, gap float64
		for i, c := range x.signatures[k].c {
			sq := squared(c)
			b := math.Sqrt(sq)
			most += size[i] * b
			powerB += sq
			gap += (size[i] - b) * (size[i] - b)
		}
		if o.Scale {
			gap = powerB - most*most/powerA
		}
		// A little off, so that rounding never hides an equal.
		order[k] = bounded{k, math.Sqrt(math.Max(0, gap))*(1-1e-9) - 1e-6}
	}
	sort.Slice(order, func(i, k int) bool {
		return order[i].bound < order[k].bound || order[i].bound == order[k].bound && order[i].place < order[k].place
	})
	return order
}

// sortBy sorts by a key, smallest first, keeping the order of equals.
func sortBy[T any](items []T, key func(T) float64) {
	sort.SliceStable(items, func(i, k int) bool { return key(items[i]) < key(items[k]) })
}
