package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/plane"
)

// Printer is how a printer was found to print: true over nominal length along the
// paper (upright) and across it. The zero value is a printer of which nothing is known.
type Printer struct {
	Name          string
	Along, Across float64
}

// IsKnown reports whether the printer was measured.
func (p Printer) IsKnown() bool { return p.Along > 0 && p.Across > 0 }

// Statement says that a sheet is corrected and what its bars must read now.
func (p Printer) Statement() string {
	return fmt.Sprintf("Corrected for printer %q, which prints %+.2f %% along and %+.2f %% across: on it every bar must read its full length.",
		p.Name, 100*(p.Along-1), 100*(p.Across-1))
}

// Corrected returns the sheet stretched about the middle of the paper so that the
// printer's fault is undone, with the statement inside the lower margin (mm). A
// printer of which nothing is known leaves the sheet as it is.
func (p Printer) Corrected(s Sheet, margin float64) Sheet {
	if !p.IsKnown() {
		return s
	}
	centre := s.Bounds().Centre()
	stretch := func(q plane.Point) plane.Point {
		v := q.Sub(centre)
		return centre.Add(plane.Vec{X: v.X / p.Across, Y: v.Y / p.Along})
	}
	out := s
	out.Items = make([]Item, 0, len(s.Items)+1)
	for _, item := range s.Items {
		out.Items = append(out.Items, mapped(item, stretch))
	}
	out.Items = append(out.Items, Text{ID: "corrected", At: at(margin, 0.62*margin), Size: math.Min(2.4, 0.36*margin), Words: p.Statement()})
	return out
}

// mapped returns the item with every place carried by f. Words keep their size.
func mapped(item Item, f func(plane.Point) plane.Point) Item {
	switch item := item.(type) {
	case Stroke:
		item.Path = item.Path.Map(f)
		return item
	case Area:
		paths := append(item.Paths[:0:0], item.Paths...)
		for i, p := range paths {
			paths[i] = p.Map(f)
		}
		item.Paths = paths
		return item
	case Text:
		item.At = f(item.At)
		return item
	}
	return item
}
