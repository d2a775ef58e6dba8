package sheet

import (
	"fmt"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// Tiling says how a large sheet is cut into pages.
type Tiling struct {
	// Overlap is what two neighbours show alike. Less than 5 mm leaves nothing to
	// glue; more than 20 wastes paper. Common practice is 10 to 15.
	Overlap length.Length
	// Margin is kept free on every side of a page. Printers need 4 to 7 mm.
	Margin length.Length
}

// DefaultTiling returns overlaps and margins of 10 mm.
func DefaultTiling() Tiling { return Tiling{10 * length.Millimetre, 10 * length.Millimetre} }

// smallestWindow is the least width and height in mm of what a page can show of the
// drawing: a scale bar, the page's name and the map must find room.
const smallestWindow = 120.0

// mostPages guards against a drawing in the wrong unit: 400 pages of A4 are 19 m².
const mostPages = 400

// Tiles returns the sheet on pages of the paper, all of one size, by the plan of
// NewPlan. Every line of the sheet is on some page, clipped exactly; neighbours show
// the same overlap. Words stand whole on one page: where a border would cut them they
// are moved, or made smaller.
func Tiles(s Sheet, paper Paper, tiling Tiling) ([]Sheet, error) {
	plan, err := NewPlan(s, paper, tiling)
	if err != nil {
		return nil, err
	}
	return plan.Pages(s), nil
}

// Pages returns the sheet that the plan was made for on its pages.
func (p Plan) Pages(s Sheet) []Sheet {
	texts := p.placeTexts(s)
	joins := p.joins(s, texts)
	pages := make([]Sheet, len(p.Tiles))
	for i, t := range p.Tiles {
		page := newTilePage(p, i)
		page.showDrawing(append(clipped(s, t.Shows), texts[i]...))
		page.showJoins(joins)
		page.furnish(s)
		pages[i] = page.sheet(s.Title)
	}
	return pages
}

// Name returns the page's name: the letter of its band and its number in it, A1, A2.
func (t Tile) Name() string {
	letters := string(rune('A' + t.Band%26))
	if t.Band >= 26 {
		letters = string(rune('A'+t.Band/26-1)) + letters
	}
	return fmt.Sprintf("%s%d", letters, t.Number+1)
}

// PageFromWhole returns where tile i shows the drawing on its paper.
func (p Plan) PageFromWhole(i int) plane.Rigid {
	t := p.Tiles[i]
	m := p.Tiling.Margin.Millimetres()
	_, up := p.reading(t)
	shift := at(m, up-m).Sub(at(t.Shows.Min.X, t.Shows.Max.Y))
	return p.paperFromReading(t).After(plane.RigidFromAngle(0, shift))
}

// reading returns the size of the paper as it lies when the drawing stands upright.
func (p Plan) reading(t Tile) (across, up float64) {
	w, h := p.Paper.Width.Millimetres(), p.Paper.Height.Millimetres()
	if t.Turned {
		return h, w
	}
	return w, h
}

// paperFromReading turns a page that is read lying on its side onto upright paper:
// all pages of a file have one size, so that no printer turns or shrinks some of them.
func (p Plan) paperFromReading(t Tile) plane.Rigid {
	if !t.Turned {
		return plane.Identity()
	}
	return plane.Rigid{Sin: 1, Shift: plane.Vec{X: p.Paper.Width.Millimetres()}}
}

// clipped returns the lines and areas inside a window, in the whole sheet's frame.
func clipped(s Sheet, window plane.Rect) []Item {
	var out []Item
	for _, item := range s.Items {
		switch item := item.(type) {
		case Stroke:
			out = append(out, clippedStroke(item, window)...)
		case Area:
			var paths = item.Paths[:0:0]
			for _, path := range item.Paths {
				if inside, any := clipArea(path, window); any {
					paths = append(paths, inside)
				}
			}
			if len(paths) > 0 {
				out = append(out, Area{item.ID, paths, item.Ink})
			}
		}
	}
	return out
}

func clippedStroke(s Stroke, window plane.Rect) []Item {
	var out []Item
	for i, r := range clip(s.Path, window) {
		id := s.ID
		if id != "" && i > 0 {
			id = fmt.Sprintf("%s-part-%d", id, i+1)
		}
		out = append(out, Stroke{ID: id, Path: r.path, Role: s.Role, Phase: s.Phase + r.before})
	}
	return out
}
