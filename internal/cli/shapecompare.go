package cli

import (
	"fmt"
	"math"

	"fairedge/internal/likeness"
	"fairedge/internal/shape"

	"github.com/spf13/cobra"
)

func newShapeCompareCommand(env Environment) *cobra.Command {
	var o likeness.Options
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "compare FIRST SECOND",
		Short: "Say how far two outlines are apart, and where",
		Long: `Lays the second outline on the first, once with the middles of their backs on each
other, once where they fit best, and says how far they are apart and where. With --json
the difference stands for places all along the first outline.`,
		Example: `  fairedge shape compare chair-1.json chair-2.json
  fairedge shape compare old/measurement.json new/measurement.json --flip --json`,
		Args: exactly(2, "two shapes"),
		RunE: func(_ *cobra.Command, args []string) error {
			documents, err := readShapes(args)
			if err != nil {
				return err
			}
			first := documents[0].Shape
			c, err := likeness.Compare(first, documents[1].Shape, o)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(env.Out, comparisonReport{apartReportOf(first, c.AsLaid), apartReportOf(first, c.BestFit)})
			}
			fmt.Fprintf(env.Out, "By their backs: %s.\n", c.AsLaid.Sentence(first.Net))
			fmt.Fprintf(env.Out, "Laid best%s: %s.\n", laidWords(c.BestFit.FirstFromSecond), c.BestFit.Sentence(first.Net))
			return nil
		},
	}
	cmd.Flags().BoolVar(&o.Flip, "flip", false, "the second may be turned over")
	cmd.Flags().BoolVar(&o.Scale, "scale", false, "the second may be made larger or smaller")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the differences all along the outline as JSON, in mm")
	return cmd
}

// laidWords says how an outline was laid.
func laidWords(m likeness.Motion) string {
	words := ""
	if m.Flipped {
		words += ", turned over"
	}
	if math.Abs(m.Scale-1) > 1e-4 {
		words += fmt.Sprintf(", at %.2f %% of its size", 100*m.Scale)
	}
	if degrees := m.Rigid.Angle() * 180 / math.Pi; math.Abs(degrees) >= 0.05 {
		words += fmt.Sprintf(", turned by %.1f°", degrees)
	}
	return words
}

type comparisonReport struct {
	AsLaid  apartReport `json:"by_backs"`
	BestFit apartReport `json:"best_fit"`
}

// apartReport is how two outlines differ as they lie: mm, degrees, seat frame of the first.
type apartReport struct {
	RMS         float64            `json:"rms"`
	Max         float64            `json:"max"`
	MaxAt       [2]float64         `json:"max_at"`
	Place       string             `json:"place"`
	Outside     bool               `json:"second_is_outside_there"`
	Mean        float64            `json:"mean"`
	Flipped     bool               `json:"flipped"`
	Scale       float64            `json:"scale"`
	TurnDegrees float64            `json:"turn_degrees"`
	Shift       [2]float64         `json:"shift"`
	Differences []differenceReport `json:"differences"`
}

type differenceReport struct {
	At     [2]float64 `json:"at"`
	Other  [2]float64 `json:"other"`
	Signed float64    `json:"difference"`
}

func apartReportOf(first shape.Shape, a likeness.Apart) apartReport {
	m := a.FirstFromSecond
	r := apartReport{
		RMS: to4(a.RMS), Max: to4(a.Max), MaxAt: [2]float64{to4(a.MaxAt.X), to4(a.MaxAt.Y)}, Place: likeness.Place(first.Net, a.MaxAt),
		Outside: a.MaxOutside, Mean: to4(a.Mean), Flipped: m.Flipped, Scale: m.Scale,
		TurnDegrees: to4(m.Rigid.Angle() * 180 / math.Pi), Shift: [2]float64{to4(m.Rigid.Shift.X), to4(m.Rigid.Shift.Y)},
	}
	for _, d := range a.Differences {
		r.Differences = append(r.Differences, differenceReport{[2]float64{to4(d.At.X), to4(d.At.Y)}, [2]float64{to4(d.Other.X), to4(d.Other.Y)}, to4(d.Signed)})
	}
	return r
}

// to4 rounds to a ten-thousandth, without -0.
func to4(x float64) float64 { return math.Round(x*1e4)/1e4 + 0 }
