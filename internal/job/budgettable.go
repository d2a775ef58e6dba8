package job

import (
	"fmt"
	"math"
)

// BudgetTable returns the budget as lines of text: where the uncertainty comes
// from. The rows add up in squares; the last line is what is promised.
func BudgetTable(m *Measured) []string {
	lines := []string{
		"Where the uncertainty comes from, in mm (one standard deviation; the rows add up in squares).",
		"A: seen in the scatter of this photo. B: known from elsewhere.",
		"",
		fmt.Sprintf("  %-40s %4s %12s %7s %7s", "source", "type", "all round", "width", "depth"),
	}
	shape := 0.0
	for _, r := range m.Budget.Rows {
		lines = append(lines, fmt.Sprintf("  %-40s %4s %12.2f %7.2f %7.2f", r.Source, r.Type, r.Shape, r.Width, r.Depth))
		shape += r.Shape * r.Shape
	}
	b := m.Budget
	return append(lines,
		fmt.Sprintf("  %-40s %4s %12.2f %7.2f %7.2f", "all together", "", math.Sqrt(shape), b.Width.U/2, b.Depth.U/2),
		fmt.Sprintf("  %-40s %4s %12.2f %7.2f %7.2f", "19 of 20 lie within (the whole outline)", "", b.Within, b.Width.U, b.Depth.U))
}
