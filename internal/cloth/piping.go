package cloth

import (
	"math"

	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
)

// pipingLengths returns the strips of piping of one pad, as cut. The pad plans strips as
// long as the cloth is wide, and where they are joined; cut that long, what is over the
// last join is waste at every strip. So each strip is cut as long as its stretch between
// two joins, half of what a join takes at either end, and the spare goes to the last
// strips. Where the joins do not say how long each strip is, all stay as planned.
func pipingLengths(p pad.Pad) []length.Length {
	plan := p.Piping
	all := make([]length.Length, plan.Strips)
	for i := range all {
		all[i] = plan.StripLength
	}
	at, ok := joinsAlong(p)
	if !ok {
		return all
	}
	// The cut length is the finished one enlarged for shrinkage.
	full := (plan.Need + plan.Left + length.Length(plan.Strips-1)*plan.JoinCost) / length.Length(plan.Strips)
	if full <= 0 {
		return all
	}
	enlarge := plan.StripLength / full
	partAt(all, at, plan, full)
	for i := range all {
		all[i] = upToMM(all[i]*enlarge, plan.StripLength)
	}
	return all
}

// partAt gives each strip its stretch between the joins, finished, and the last ones the
// spare; none becomes longer than a full one.
func partAt(all, at []length.Length, plan pad.Piping, full length.Length) {
	ends := append(append([]length.Length{0}, at...), plan.Need)
	for i := range all {
		l := ends[i+1] - ends[i]
		if i > 0 {
			l += plan.JoinCost / 2
		}
		if i < len(all)-1 {
			l += plan.JoinCost / 2
		}
		all[i] = min(full, l)
	}
	spare := plan.WithSpare - plan.Need
	for i := len(all) - 1; i >= 0 && spare > 0; i-- {
		more := min(spare, full-all[i])
		all[i] += more
		spare -= more
	}
}

// upToMM rounds up to whole millimetres, so that the tape can be read, but not over the
// most.
func upToMM(l, most length.Length) length.Length {
	return min(most, length.Length(math.Ceil(l.Millimetres()-1e-6))*length.Millimetre)
}

// joinsAlong returns how far along all the piping its joins lie; ok is false where the
// plan leaves that open.
func joinsAlong(p pad.Pad) (at []length.Length, ok bool) {
	plan := p.Piping
	if plan.Strips < 1 || p.Seams < 1 || p.SeamLength <= 0 {
		return nil, false
	}
	if s := p.Recipe.Style; (s == pad.Waterfall || s == pad.Bullnose) && plan.Strips > 1 {
		return nil, false // the seams differ in length
	}
	each := plan.Need / length.Length(p.Seams)
	missing := plan.Strips - 1 - len(plan.Joins) // joins that fall between two seams
	if missing < 0 || missing > p.Seams-1 {
		return nil, false
	}
	for seam := range p.Seams {
		for _, j := range plan.Joins {
			if j.Seam == seam {
				along := math.Mod(math.Mod(j.Along, p.SeamLength.Millimetres())+p.SeamLength.Millimetres(), p.SeamLength.Millimetres())
				at = append(at, length.Length(seam)*each+each*length.Length(along/p.SeamLength.Millimetres()))
			}
		}
		if seam < p.Seams-1 && missing > 0 {
			at, missing = append(at, length.Length(seam+1)*each), missing-1
		}
	}
	for i := range at {
		if i > 0 && at[i] <= at[i-1] {
			return nil, false
		}
	}
	return at, true
}

func tooLong(c Cloth, p Part) error {
	return problem.Newf(problem.Usage, "make the pad for cloth of this width, so that its strips are planned for it, or use wider cloth",
		"%s, %s long, does not fit between the selvedges, %s apart", p.Name, p.Length, c.Usable())
}
