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

// pipingPlan holds what planning needs beside the result.
type pipingPlan struct {
	ring float64 // strip for one seam, with its join and its corners, mm
	each float64 // one strip, finished, mm
	join float64
}

// planPiping counts the strips for all seams and places their joins.
func (m *maker) planPiping() {
	r := m.recipe.Piping
	if !r.On {
		return
	}
	plan := m.pipingPlan()
	seams := float64(m.pad.Seams)
	p := Piping{On: true, Cord: r.Cord, Cut: r.Cut, JoinCost: mm(plan.join)}
	width := PipingWidth(r.Cord, m.recipe.Plate.Seam, r.Cloth)
	p.Need = mm(seams * plan.ring)
	p.WithSpare = p.Need * length.Length(1+float64(r.Spare))
	p.CordLength = mm(seams*(m.seam.total+r.Join.Millimetres())) * length.Length(1+float64(r.Spare))
	least := StripsFor(p.WithSpare, mm(plan.each), mm(plan.join))
	joins, strips, ok := m.pipingJoins(plan, least)
	if !ok {
		m.ask("no place was found for every join of the piping away from corners and the front centre: cut the strips from wider cloth")
	}
	p.Joins, p.Strips = joins, strips
	long, wide := m.stripSize(plan.each, width.Millimetres())
	if r.Cut == Bias { // both directions of the cloth shrink in it
		across, along := m.recipe.shrinkScale()
		long, wide = mm(plan.each*math.Max(across, along)), width*length.Length(math.Max(across, along))
	}
	p.StripLength, p.StripWidth = long, wide
	p.Left = Joined(p.Strips, mm(plan.each), mm(plan.join)) - p.Need
	m.pad.Piping = p
}

func (m *maker) pipingPlan() pipingPlan {
	r := m.recipe.Piping
	width := PipingWidth(r.Cord, m.recipe.Plate.Seam, r.Cloth).Millimetres()
	plan := pipingPlan{
		ring: m.seam.total + r.Join.Millimetres() + float64(m.outerCorners())*r.CornerEase.Millimetres(),
		each: m.usableWidth(),
		join: width,
	}
	if r.Cut == Bias {
		plan.each = LongestBias(mm(m.usableWidth())).Millimetres()
		plan.join = 2 * math.Sqrt2 * r.BiasJoin.Millimetres()
	}
	return plan
}

func (m *maker) outerCorners() int {
	n := 0
	for _, c := range m.corners {
		if c.turn > 0 {
			n++
		}
	}
	return n
}

// pipingJoins lays the strips one after the other along the seams and returns where
// their joins fall. At least the given number of strips is used. Where one seam ends
// and the next begins the piping is cut anyway, so a join there costs nothing and
// does not show.
func (m *maker) pipingJoins(plan pipingPlan, least int) (joins []PipingJoin, strips int, ok bool) {
	seams := m.pad.Seams
	total := float64(seams) * plan.ring
	along := func(x float64) (seam int, s float64) {
		seam = min(int(x/plan.ring), seams-1)
		return seam, (x - float64(seam)*plan.ring) * m.seam.total / plan.ring
	}
	p := parting{
		total: total,
		limit: func(k, n int) float64 {
			if n < least {
				return 0 // too few once the spare is counted
			}
			if n == 1 {
				return plan.each
			}
			if k == 0 || k == n-1 {
				return plan.each - plan.join/2
			}
			return plan.each - plan.join
		},
		cost: func(x float64) float64 {
			seam, s := along(x)
			if seams > 1 && math.Abs(x-plan.ring) < m.params.JoinStep {
				return 0
			}
			_ = seam
			return m.awkwardness(s, m.busy())
		},
		step: m.params.JoinStep,
	}
	places, ok := p.joins()
	for _, x := range places {
		if seams > 1 && math.Abs(x-plan.ring) < m.params.JoinStep {
			continue
		}
		seam, s := along(x)
		joins = append(joins, PipingJoin{seam, s})
	}
	return joins, max(least, len(places)+1), ok
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
		Words: []string{words, fmt.Sprintf("Once round is %s; %s is needed and %s is over.", m.pad.SeamLength, p.Need, p.Left)},
	})
}
