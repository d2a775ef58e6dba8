package nest

import (
	"encoding/binary"
	"math"

	"fairedge/internal/problem"
)

// form is an outline in one turn, moved so that its box starts at (0, 0). Poses of
// any items with the same outline share one form, and with it their fields.
type form struct {
	ring  ring
	parts []ring
	size  vec
	half  int // the form that is this one turned by half, or -1
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
	firstPose []int   // number of the first pose of each piece in a list of all
	poses     int     // how many poses all pieces have
	sights    []sight // [a*len(forms)+b]: how form a sees form b
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
		in.addForm(r, b.size(), known)
	}
	made := pose{form: number, degrees: degrees, flipped: flipped, shift: b.min}
	if item.Repeat != nil {
		made.lattice = newLattice(item.Repeat, degrees, flipped, b.min)
	}
	return made
}

// addForm adds the form of an outline; where its half turn is there already, as the
// exact half turn of that.
func (in *instance) addForm(r ring, size vec, known map[string]int) {
	number := len(in.forms)
	made := form{half: -1, size: size}
	other, found := known[keyOf(fromLowest(halfTurned(r, size)))]
	switch {
	case found && other != number:
		made.half = other
		in.forms[other].half = number
		made.ring = halfTurned(in.forms[other].ring, size)
	default:
		made.ring = simpler(r)
		if found && keyOf(fromLowest(halfTurned(made.ring, size))) == keyOf(fromLowest(made.ring)) {
			made.half = number
		}
	}
	made.parts = convexParts(made.ring)
	in.forms = append(in.forms, made)
}

// halfTurned returns the outline turned by half a turn, in the same box from (0, 0).
func halfTurned(r ring, size vec) ring {
	out := make(ring, len(r))
	for i, v := range r {
		out[i] = size.sub(v)
	}
	return out
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

// band is how far outside contact a field still tells the distance: a small share of
// the pieces' size, as far as a sliding piece looks for its next contacts.
func (in *instance) band(a, b int) float64 {
	return 0.1 * (math.Sqrt(in.forms[a].ring.doubleArea()) + math.Sqrt(in.forms[b].ring.doubleArea())) / 2
}
