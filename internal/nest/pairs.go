package nest

import "sync"

// Fields are made for pairs of forms. Turning both forms of a pair by half a turn
// mirrors their no-fit polygon in a point, so that one field serves both pairs; and
// one serves a pair in either order. A sight translates.

// sight is how a moving form sees a lying one: with the corner of the lying one at 0
// and that of the moving one at d, the field is asked for sign·d + shift; contact is
// possible only for d in the box.
type sight struct {
	box
	field *field
	sign  float64
	shift vec
}

// sightOf returns how form a sees form b.
func (in *instance) sightOf(a, b int) *sight { return &in.sights[a*len(in.forms)+b] }

// depthAt returns the depth of overlap when the moving form's corner is at d.
func (v *sight) depthAt(d vec) float64 { return v.field.depth(v.displacement(d)) }

func (v *sight) displacement(d vec) vec {
	return vec{v.sign*d.x + v.shift.x, v.sign*d.y + v.shift.y}
}

// pairKey names the field that serves a pair: forms first ≤ second, asked for the
// displacement of the second from the first.
type pairKey struct{ first, second int }

// plan returns the field's key for form a seeing form b, with sign and shift.
//
// With A at p and B at r the field of (A, B) is asked for r - p = -(p - r), that of
// (B, A) for p - r. Forms A' = size(A) - A turned by half, likewise B': A' at p and B' at r
// are, all turned by half, A at -p - size(A) and B at -r - size(B); the field of (A, B)
// is asked for (p - r) + size(A) - size(B).
func (in *instance) plan(a, b int) (key pairKey, sign float64, shift vec) {
	key, sign = pairKey{a, b}, -1
	if ha, hb := in.forms[a].half, in.forms[b].half; ha >= 0 && hb >= 0 && min(ha, hb) < min(a, b) {
		key, sign = pairKey{ha, hb}, 1
		shift = in.forms[a].size.sub(in.forms[b].size)
	}
	if key.first > key.second {
		key = pairKey{key.second, key.first}
		sign, shift = -sign, shift.scale(-1)
	}
	return key, sign, shift
}

// prepareFields makes the fields of all pairs of forms, on the given number of
// goroutines; each field is the work of one alone, so the result is always the same.
func (in *instance) prepareFields(workers int) {
	n := len(in.forms)
	number := make(map[pairKey]int)
	var keys []pairKey
	for i := range n * n {
		key, _, _ := in.plan(i/n, i%n)
		if _, known := number[key]; !known {
			number[key] = len(keys)
			keys = append(keys, key)
		}
	}
	fields := in.makeFields(keys, workers)
	in.sights = make([]sight, n*n)
	for i := range in.sights {
		key, sign, shift := in.plan(i/n, i%n)
		f := fields[number[key]]
		reach := box{f.min.sub(shift), f.max.sub(shift)}
		if sign < 0 {
			reach = box{shift.sub(f.max), shift.sub(f.min)}
		}
		in.sights[i] = sight{reach, f, sign, shift}
	}
}

func (in *instance) makeFields(keys []pairKey, workers int) []*field {
	cells := 48
	if len(in.forms) > 40 {
		cells = 32 // a thousand pairs and more: memory and preparation time
	}
	fields := make([]*field, len(keys))
	next := make(chan int)
	var wait sync.WaitGroup
	for range workers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := range next {
				a, b := keys[i].first, keys[i].second
				fields[i] = newField(in.forms[a].parts, in.forms[b].parts, in.buffer, in.band(a, b), cells)
			}
		}()
	}
	for i := range keys {
		next <- i
	}
	close(next)
	wait.Wait()
	return fields
}
