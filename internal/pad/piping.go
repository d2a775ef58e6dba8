package pad

import (
	"fmt"
	"math"

	"fairedge/internal/length"
)

// Piping is how the piping of a pad is cut and joined; zero when it has none.
type Piping struct {
	On          bool
	Cord        length.Length // diameter
	StripWidth  length.Length
	Cut         StripCut
	Need        length.Length // for all seams, without spare
	WithSpare   length.Length
	Strips      int           // that are cut
	StripLength length.Length // of each, as cut
	JoinCost    length.Length // length that each join takes
	Left        length.Length // over when all seams are piped
	CordLength  length.Length
	Joins       []PipingJoin
}

// PipingJoin is where two strips of piping meet on the finished pad.
type PipingJoin struct {
	Seam  int     // 0 is the top plate's seam, 1 the second plate's
	Along float64 // arc length, mm
}

// PipingWidth returns the width of a strip that goes round a cord of the given
// diameter with a seam allowance on both sides: 2 s + π d and what heavy cloth needs
// more.
func PipingWidth(cord, seam, cloth length.Length) length.Length {
	return 2*seam + math.Pi*cord + cloth
}

// Joined returns the length of n strips that are joined one to the next, when each
// join takes the given length: a diagonal join of square ends takes the width.
func Joined(n int, each, join length.Length) length.Length {
	return length.Length(n)*each - length.Length(n-1)*join
}

// StripsFor returns the fewest strips that joined reach the need; 0 when strips are
// no longer than a join.
func StripsFor(need, each, join length.Length) int {
	if each <= join {
		return 0
	}
	const rounding = 1e-9
	return max(1, int(math.Ceil(float64((need-join)/(each-join))-rounding)))
}

// ring is one piped seam.
type ring struct {
	sewn    float64 // once round, mm
	corners int     // sharp ones
	// cost returns how awkward a join at arc length s of the seam is.
	cost func(s float64) float64
}

// plateRings returns the seams of the plates.
func (m *maker) plateRings() []ring {
	corners := 0
	for _, c := range m.corners {
		if c.turn > 0 {
			corners++
		}
	}
	busy := m.busy()
	r := ring{m.seam.total, corners, func(s float64) float64 { return m.awkwardness(s, busy) }}
	rings := make([]ring, m.pad.Seams)
	for i := range rings {
		rings[i] = r
	}
	return rings
}

// pipingPlan lays strips one after the other along all piped seams.
type pipingPlan struct {
	rings []ring
	need  []float64 // strip for each seam, with its overlap and corners, mm
	total float64
	each  float64 // one strip, finished, mm
	join  float64 // length that a join takes, mm
	least int     // strips, once the spare is counted
	step  float64
}

func (m *maker) newPipingPlan(rings []ring) pipingPlan {
	r := m.recipe.Piping
	plan := pipingPlan{rings: rings, step: m.params.JoinStep, each: m.usableWidth(),
		join: PipingWidth(r.Cord, m.recipe.Plate.Seam, r.Cloth).Millimetres()}
	if r.Cut == Bias {
		plan.each = LongestBias(mm(m.usableWidth())).Millimetres()
		plan.join = 2 * math.Sqrt2 * r.BiasJoin.Millimetres()
	}
	for _, g := range rings {
		n := g.sewn + r.Join.Millimetres() + float64(g.corners)*r.CornerEase.Millimetres()
		plan.need = append(plan.need, n)
		plan.total += n
	}
	plan.least = StripsFor(mm(plan.total*(1+float64(r.Spare))), mm(plan.each), mm(plan.join))
	return plan
}

// planPiping counts the strips for the seams and places their joins.
func (m *maker) planPiping(rings []ring) {
	r := m.recipe.Piping
	if !r.On {
		return
	}
	plan := m.newPipingPlan(rings)
	p := Piping{On: true, Cord: r.Cord, Cut: r.Cut, JoinCost: mm(plan.join), Need: mm(plan.total)}
	p.WithSpare = p.Need * length.Length(1+float64(r.Spare))
	for _, g := range rings {
		p.CordLength += mm(g.sewn+r.Join.Millimetres()) * length.Length(1+float64(r.Spare))
	}
	var ok bool
	p.Joins, p.Strips, ok = plan.place()
	if !ok {
		m.ask("no place was found for every join of the piping away from corners and the front centre: cut the strips from wider cloth")
	}
	p.StripLength, p.StripWidth = m.stripSize(plan.each, PipingWidth(r.Cord, m.recipe.Plate.Seam, r.Cloth).Millimetres())
	if r.Cut == Bias { // both directions of the cloth shrink in it
		across, along := m.recipe.shrinkScale()
		k := math.Max(across, along)
		p.StripLength, p.StripWidth = mm(plan.each*k), PipingWidth(r.Cord, m.recipe.Plate.Seam, r.Cloth)*length.Length(k)
	}
	p.Left = Joined(p.Strips, mm(plan.each), mm(plan.join)) - p.Need
	m.pad.Piping = p
}

// seamAt returns the seam and the arc length on it at x of the laid strips.
func (plan pipingPlan) seamAt(x float64) (seam int, s float64) {
	for seam < len(plan.rings)-1 && x >= plan.need[seam] {
		x -= plan.need[seam]
		seam++
	}
	return seam, x * plan.rings[seam].sewn / plan.need[seam]
}

// betweenSeams reports whether one seam ends and the next begins at x: the piping is
// cut there anyway, so a join costs nothing and does not show.
func (plan pipingPlan) betweenSeams(x float64) bool {
	at := 0.0
	for _, n := range plan.need[:len(plan.need)-1] {
		at += n
		if math.Abs(x-at) < plan.step {
			return true
		}
	}
	return false
}

// place returns where the joins fall and how many strips that takes.
func (plan pipingPlan) place() (joins []PipingJoin, strips int, ok bool) {
	p := parting{total: plan.total, step: plan.step, limit: plan.limit, cost: func(x float64) float64 {
		if plan.betweenSeams(x) {
			return 0
		}
		seam, s := plan.seamAt(x)
		return plan.rings[seam].cost(s)
	}}
	places, ok := p.joins()
	for _, x := range places {
		if !plan.betweenSeams(x) {
			seam, s := plan.seamAt(x)
			joins = append(joins, PipingJoin{seam, s})
		}
	}
	return joins, max(plan.least, len(places)+1), ok
}

// limit returns how far strip k of n reaches: each of its joins takes half of what a
// join takes.
func (plan pipingPlan) limit(k, n int) float64 {
	switch {
	case n < plan.least:
		return 0
	case n == 1:
		return plan.each
	case k == 0 || k == n-1:
		return plan.each - plan.join/2
	}
	return plan.each - plan.join
}

// cutPipingStrips adds the strips to cut.
func (m *maker) cutPipingStrips() {
	p := m.pad.Piping
	if !p.On {
		return
	}
	words := fmt.Sprintf("Join the strips with diagonal seams, each takes %s. Fold round the cord, stitch close.", p.JoinCost)
	if p.Cut == Bias {
		words = fmt.Sprintf("Cut at 45 degrees, ends along the straight grain; each join takes %s along the strip. Fold round the cord, stitch close.", p.JoinCost)
	}
	m.pad.Strips = append(m.pad.Strips, Strip{
		Name: "Piping strip", Kind: PipingStrip, Count: p.Strips, Width: p.StripWidth, Length: p.StripLength, Cut: p.Cut,
		Words: []string{words, fmt.Sprintf("%s is needed for all seams and %s is over.", p.Need, p.Left)},
	})
}
