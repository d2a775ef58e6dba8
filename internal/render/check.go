package render

import (
	"math"

	"fairedge/internal/problem"
	"fairedge/internal/sheet"
)

// largestPage is the greatest width and height of a page in mm that is written in
// points: 14 400 units of 1/72 in, beyond which readers of PDF may refuse it (ISO
// 32000-1, annex C.2). A larger page gets a larger unit, up to largestSheet.
const (
	largestPage  = 14400 * 25.4 / 72
	largestSheet = 10 * largestPage
)

// checkSheet returns an error when a sheet cannot be drawn: no size, too large, or a
// coordinate that is not a number.
func checkSheet(s sheet.Sheet) error {
	w, h := s.Width.Millimetres(), s.Height.Millimetres()
	if !(w > 0 && h > 0) {
		return problem.Newf(problem.Internal, "report this with the photo", "sheet %q has no size", s.Title)
	}
	if w > largestSheet || h > largestSheet {
		return problem.Newf(problem.Usage, "draw a smaller piece, or check that the cards were read at the right size",
			"sheet %q is %.0f x %.0f mm; a page can be %.0f mm at most", s.Title, w, h, largestSheet)
	}
	for _, item := range s.Items {
		if !isFinite(item) {
			return problem.Newf(problem.Internal, "report this with the photo",
				"item %q of sheet %q has a coordinate that is not a number", item.Identity(), s.Title)
		}
	}
	return nil
}

func isFinite(item sheet.Item) bool {
	switch item := item.(type) {
	case sheet.Stroke:
		return item.Path.Len() > 0 && item.Path.Validate() == nil && isNumber(item.Phase)
	case sheet.Area:
		for _, p := range item.Paths {
			if p.Validate() != nil {
				return false
			}
		}
		return len(item.Paths) > 0
	case sheet.Text:
		return item.At.IsFinite() && isNumber(item.Size) && item.Size > 0 && isNumber(item.Angle)
	}
	return false
}

func isNumber(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
