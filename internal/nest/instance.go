package nest

import (
	"encoding/binary"
	"math"
	"sync"

	"fairedge/internal/problem"
)

// form is an outline in one turn, moved so that its box starts at (0, 0). Poses of
// any items with the same outline share one form, and with it their fields.
type form struct {
	ring  ring
	parts []ring
	size  vec
}

// pose is one allowed turn of an item.
type pose struct {
	form    int
	degrees float64
	flipped bool
	shift   vec // the turned outline is the form moved by shift
	// lattice of the form's corner; steps of 0 leave a direction free.
	lattice lattice
}

// piece is one copy of an item that is to be laid, or lies (fixed).
type piece struct {
	item  int
	poses []pose
	area  float64
	// fixed pieces lie at start in their only pose.
	fixed bool
	start vec
}

// instance is a problem made ready for the solver, in nanometres.
type instance struct {
	problem   *Problem
	pieces    []piece
	forms     []form
	firstPose []int    // number of the first pose of each piece in a list of all
	poses     int      // how many poses all pieces have
	fields    []*field // [a*len(forms)+b] for a <= b
	sights    []sight  // [a*len(forms)+b] for all a and b
	width     float64
	edge      float64
	buffer    float64
	sheet     float64 // length of a sheet, or +Inf
	pitch     float64 // from sheet to sheet in the solver's long strip
	area      float64
}

// newInstance prepares a validated problem; the error says which piece cannot fit.
func newInstance(p *Problem) (*instance, error) {
	in := &instance{
		problem: p, width: toNM(p.Width), edge: toNM(p.EdgeBuffer), buffer: toNM(p.Buffer),
		sheet: math.Inf(1), area: p.ItemArea() * nmPerMM * nmPerMM,
	}
	if p.SheetLength > 0 {
		in.sheet = toNM(p.SheetLength)
		in.pitch = in.sheet + in.buffer + toNM(10)
	}
	known := map[string]int{}
	for i := range p.Items {
		if err := in.addItem(i, known); err != nil {
			return nil, err
		}
	}
	for _, f := range p.Fixed {
		made := in.poseOf(f.Item, f.Degrees, f.Flipped, known)
		start := vec{toNM(f.At.X), toNM(f.At.Y)}.add(made.shift)
		start.x += float64(f.Sheet) * in.pitch0()
		made.lattice = lattice{}
		in.pieces = append(in.pieces, piece{item: f.Item, poses: []pose{made}, fixed: true, start: start,
			area: in.forms[made.form].ring.doubleArea() / 2})
	}
	for k := range in.pieces {
		in.firstPose = append(in.firstPose, in.poses)
		in.poses += len(in.pieces[k].poses)
	}
	return in, nil
}

func (in *instance) pitch0() float64 {
	if math.IsInf(in.sheet, 1) {
		return 0
	}
	return in.pitch
}

// addItem adds the copies of an item with the poses that fit.
func (in *instance) addItem(index int, known map[string]int) error {
	item := &in.problem.Items[index]
	turns := item.Turns
	if len(turns) == 0 {
		turns = []float64{0}
	}
	var poses []pose
	for _, flipped := range []bool{false, true} {
		if flipped && !item.Flip {
			continue
		}
		for _, degrees := range turns {
			made := in.poseOf(index, degrees, flipped, known)
			if in.fits(made) && !listed(poses, made) {
				poses = append(poses, made)
			}
		}
	}
	if len(poses) == 0 && item.Demand > 0 {
		return problem.Newf(problem.Usage, "use wider material, allow another turn, or cut it in parts",
			"piece %s (number %d) does not fit the material in any allowed turn", item.Name, index+1)
	}
	for range item.Demand {
		in.pieces = append(in.pieces, piece{item: index, poses: poses, area: in.forms[poses[0].form].ring.doubleArea() / 2})
	}
	return nil
}

// listed reports whether an equal pose (a symmetric outline turned) is there already.
func listed(poses []pose, p pose) bool {
	for _, q := range poses {
		if q.form == p.form && q.lattice == p.lattice {
			return true
		}
	}
	return false
}

// poseOf returns a pose of an item and adds its form when it is new.
func (in *instance) poseOf(index int, degrees float64, flipped bool, known map[string]int) pose {
	item := &in.problem.Items[index]
	r := cleaned(turned(nmPoints(item.Outline), degrees, flipped))
	b := boxOf(r)
	for i := range r {
		r[i] = r[i].sub(b.min)
	}
	r = fromLowest(r)
	key := keyOf(r)
	number, found := known[key]
	if !found {
		number = len(in.forms)
		known[key] = number
		in.forms = append(in.forms, form{ring: r, parts: convexParts(r), size: b.size()})
	}
	made := pose{form: number, degrees: degrees, flipped: flipped, shift: b.min}
	if item.Repeat != nil {
		made.lattice = newLattice(item.Repeat, degrees, flipped, b.min)
	}
	return made
}

// fits reports whether the pose has a place on the material by itself.
func (in *instance) fits(p pose) bool {
	size := in.forms[p.form].size
	if size.y > in.width-2*in.edge || size.x > in.sheet-2*in.edge {
		return false
	}
	at, ok := p.lattice.snapped(vec{in.edge, in.edge}, in.boundsOf(p, in.edge, math.Min(in.sheet, 1e18)-in.edge))
	return ok && at.x >= in.edge
}

// boundsOf returns where the corner of the pose may lie when the piece has to stay
// between lo and hi along the cloth.
func (in *instance) boundsOf(p pose, lo, hi float64) box {
	size := in.forms[p.form].size
	return box{vec{lo, in.edge}, vec{hi - size.x, in.width - in.edge - size.y}}
}

func fromLowest(r ring) ring {
	k := lowest(r)
	return append(append(ring(nil), r[k:]...), r[:k]...)
}

func keyOf(r ring) string {
	key := make([]byte, 0, 16*len(r))
	for _, v := range r {
		key = binary.LittleEndian.AppendUint64(key, uint64(int64(v.x)))
		key = binary.LittleEndian.AppendUint64(key, uint64(int64(v.y)))
	}
	return string(key)
}

// fieldOf returns the field of form a and form b, a <= b.
func (in *instance) fieldOf(a, b int) *field { return in.fields[a*len(in.forms)+b] }

// prepareFields makes the fields of all pairs of forms, on the given number of
// goroutines; each field is the work of one alone, so the result is always the same.
func (in *instance) prepareFields(workers int) {
	n := len(in.forms)
	in.fields = make([]*field, n*n)
	cells := 48
	if n > 60 {
		cells = 32 // thousands of pairs: memory and preparation time
	}
	rows := make(chan int)
	var wait sync.WaitGroup
	for range workers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for a := range rows {
				for b := a; b < n; b++ {
					in.fields[a*n+b] = newField(in.forms[a].parts, in.forms[b].parts, in.buffer, in.band(a, b), cells)
				}
			}
		}()
	}
	for a := range n {
		rows <- a
	}
	close(rows)
	wait.Wait()
	in.prepareSights()
}

// sight is how a moving form sees a lying one: with the corner of the lying one at 0,
// contact is possible only for places in the box, and the field is asked for the
// place times sign.
type sight struct {
	box
	field *field
	sign  float64
}

func (in *instance) prepareSights() {
	n := len(in.forms)
	in.sights = make([]sight, n*n)
	for a := range n {
		for b := range n {
			if a <= b {
				f := in.fieldOf(a, b)
				in.sights[a*n+b] = sight{box{f.max.scale(-1), f.min.scale(-1)}, f, -1}
			} else {
				f := in.fieldOf(b, a)
				in.sights[a*n+b] = sight{box{f.min, f.max}, f, 1}
			}
		}
	}
}

// band is how far outside contact a field still tells the distance: a small share of
// the pieces' size, as far as a sliding piece looks for its next contacts.
func (in *instance) band(a, b int) float64 {
	return 0.1 * (math.Sqrt(in.forms[a].ring.doubleArea()) + math.Sqrt(in.forms[b].ring.doubleArea())) / 2
}
