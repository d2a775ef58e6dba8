package sweep

import (
	"math"

	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// Laid is a card at a place on the bench.
type Laid struct {
	ID            card.ID
	PlaneFromCard plane.Rigid
}

func Loose(n int, x, y, degrees float64) Laid {
	id := card.ID{Edition: card.Edition, Paper: card.A4, Number: n}
	return Laid{id, plane.RigidFromAngle(degrees*math.Pi/180, plane.Vec{X: x, Y: y})}
}

func Frame(x, y, degrees float64) Laid { return Loose(card.Frame, x, y, degrees) }

// Target is a field of marks laid on the bench.
type Target struct {
	measure.Target
	At plane.Rigid // plane from target
}

func TargetOf(l Laid) Target {
	d, err := card.DesignOf(l.ID)
	if err != nil {
		panic(err)
	}
	half := plane.Vec{X: float64(d.Cols) * card.Pitch / 2, Y: float64(d.Rows) * card.Pitch / 2}
	t := measure.Target{Name: l.ID.String(), ID: l.ID, Centre: d.FieldMin.Add(half), Half: half}
	for _, m := range d.Marks() {
		t.Marks = append(t.Marks, measure.TargetMark{Drawn: d.Mark(m.I, m.J)})
	}
	return Target{t, l.PlaneFromCard}
}

// A5 is the study's full A5 card: 13 x 19 marks at 10 mm.
func A5(x, y, degrees float64) Target {
	var marks []measure.TargetMark
	for j := range 19 {
		for i := range 13 {
			marks = append(marks, measure.TargetMark{Drawn: plane.Point{X: float64(i-6) * 10, Y: float64(j-9) * 10}})
		}
	}
	return Target{measure.NewTarget("A5", marks), plane.RigidFromAngle(degrees*math.Pi/180, plane.Vec{X: x, Y: y})}
}

// ExactPrint is a print whose scale is known: the study keeps it apart.
func ExactPrint() card.Print {
	p := card.UnmeasuredPrint(card.A4, false)
	p.Along.Uncertainty, p.Across.Uncertainty = 1e-6, 1e-6
	return p
}
