package job

import (
	"fairedge/internal/curve"
	"fairedge/internal/shape"
)

// Outlines are the lines to cut, seat frame, counter-clockwise.
type Outlines struct {
	Foam   curve.Path // net outline, with the oversize asked for
	Fabric curve.Path // cut line of the top plate, as seen from its right side
	Second curve.Path // the other plate: Fabric mirrored left to right
	// FabricError is the greatest distance of the fabric's curves from the true
	// parallel, mm, as measured when they were fitted.
	FabricError float64
}

// offsetTolerance is the greatest error of an offset curve in millimetres: a
// fifth of what a plotter resolves.
const offsetTolerance = 0.01

// OutlinesFromShape makes the lines to cut.
func OutlinesFromShape(s shape.Shape, p Pattern) (Outlines, error) {
	foam := s.Net
	if p.Oversize != 0 {
		border, err := s.Net.OffsetOutline(curve.Uniform(p.Oversize.Millimetres()).WithJoin(p.Corner), offsetTolerance)
		if err != nil {
			return Outlines{}, err
		}
		foam = border.Path
	}
	region, err := s.Net.Offset(p.allowance(s), offsetTolerance)
	if err != nil {
		return Outlines{}, err
	}
	border, err := region.Outline()
	if err != nil {
		return Outlines{}, err
	}
	return Outlines{
		Foam:        foam,
		Fabric:      border.Path,
		Second:      border.Path.Mirrored(s.Origin(), s.BackToFront()),
		FabricError: region.WorstError,
	}, nil
}

// allowance gives every piece of the outline its own: the hem at the back, the
// general one elsewhere.
func (p Pattern) allowance(s shape.Shape) curve.Allowance {
	distances := make([]float64, s.Net.Len())
	for i := range distances {
		distances[i] = p.Allowance.Millimetres()
	}
	if p.Hem != nil {
		back := s.Edges[s.Back.Edge]
		for k := range back.Count {
			distances[(back.First+k)%s.Net.Len()] = p.Hem.Millimetres()
		}
	}
	return curve.ByPiece(distances).WithJoin(p.Corner)
}
