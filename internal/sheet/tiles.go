package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
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

// pageStrip is the height in mm of the strip with the scale bar and the map at the
// foot of every page.
const pageStrip = 17.0

// smallestWindow is the least width and height in mm of what a page shows of the
// drawing: the scale bar, the page's name and the map must stand side by side.
const smallestWindow = 150.0

// mostPages guards against a drawing in the wrong unit: 400 pages of A4 are 19 m².
const mostPages = 400

// Tiles returns the sheet on pages of the paper, row by row from the top left. Every
// line of the sheet is on some page, clipped exactly; neighbours show the same
// overlap. Pages that would be blank are left out. Words stand whole on one page:
// where a border would cut them they are moved, or made smaller.
func Tiles(s Sheet, paper Paper, tiling Tiling) ([]Sheet, error) {
	g, err := newGrid(s, paper, tiling)
	if err != nil {
		return nil, err
	}
	texts := g.placeTexts(s)
	var filled []tile
	for row := range g.rows {
		for col := range g.cols {
			t := tile{row: row, col: col}
			t.drawing = g.clipped(s, row, col)
			t.drawing = append(t.drawing, texts[row*g.cols+col]...)
			if len(t.drawing) > 0 {
				filled = append(filled, t)
			}
		}
	}
	pages := make([]Sheet, len(filled))
	for i := range filled {
		pages[i] = g.page(s, filled, i)
	}
	return pages, nil
}

// tile is one page's share of the drawing, still in the frame of the whole sheet.
type tile struct {
	row, col int
	drawing  []Item
}

// name returns the page's name: rows A, B, C from the top, columns 1, 2, 3 from the
// left.
func (t tile) name() string { return tileName(t.row, t.col) }

func tileName(row, col int) string {
	letters := string(rune('A' + row%26))
	if row >= 26 {
		letters = string(rune('A'+row/26-1)) + letters
	}
	return fmt.Sprintf("%s%d", letters, col+1)
}

// grid is the lattice of windows laid over the whole sheet.
type grid struct {
	paper         Paper
	overlap       float64 // mm
	margin        float64
	width, height float64 // of a window
	rows, cols    int
	corner        plane.Point // upper left corner of the first window, whole sheet
}

func newGrid(s Sheet, paper Paper, tiling Tiling) (grid, error) {
	g := grid{paper: paper, overlap: tiling.Overlap.Millimetres(), margin: tiling.Margin.Millimetres()}
	g.width = paper.Width.Millimetres() - 2*g.margin
	g.height = paper.Height.Millimetres() - 2*g.margin - pageStrip
	if !(g.overlap >= 0 && g.margin >= 0) || math.Min(g.width, g.height) < smallestWindow ||
		g.overlap > math.Min(g.width, g.height)/3 {
		return grid{}, problem.Newf(problem.Usage, "use A4 or Letter with margins and overlap of about 10 mm",
			"%s paper with margins of %s and an overlap of %s leaves too little room on a page",
			paper.Name, tiling.Margin.Metric(), tiling.Overlap.Metric())
	}
	b := drawnBounds(s)
	if b.IsEmpty() {
		return grid{}, problem.New(problem.Internal, "there is nothing to print", "report this with what you typed")
	}
	g.cols, g.rows = g.count(b.Width(), g.width), g.count(b.Height(), g.height)
	if g.cols*g.rows > mostPages {
		return grid{}, problem.Newf(problem.Usage, "check that the cards were read at the right size",
			"the drawing of %.0f x %.0f mm needs %d pages", b.Width(), b.Height(), g.cols*g.rows)
	}
	// What is left over is shared between both ends, so that no page holds a sliver.
	spareX := g.span(g.cols, g.width) - b.Width()
	spareY := g.span(g.rows, g.height) - b.Height()
	g.corner = at(b.Min.X-spareX/2, b.Max.Y+spareY/2)
	return g, nil
}

func drawnBounds(s Sheet) plane.Rect {
	b := plane.EmptyRect()
	for _, item := range s.Items {
		b = b.Union(item.Bounds())
	}
	return b
}

// count returns how many windows of the given size cover an extent.
func (g grid) count(extent, window float64) int {
	return max(1, int(math.Ceil((extent-g.overlap)/(window-g.overlap)-1e-9)))
}

// span returns the extent that n windows cover.
func (g grid) span(n int, window float64) float64 { return float64(n)*(window-g.overlap) + g.overlap }

// window returns what page (row, col) shows of the whole sheet.
func (g grid) window(row, col int) plane.Rect {
	left := g.corner.X + float64(col)*(g.width-g.overlap)
	top := g.corner.Y - float64(row)*(g.height-g.overlap)
	return plane.Rect{Min: at(left, top-g.height), Max: at(left+g.width, top)}
}

// clipped returns the lines and areas inside a window, in the whole sheet's frame.
func (g grid) clipped(s Sheet, row, col int) []Item {
	window := g.window(row, col)
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

// pageList names the pages in reading order.
func pageList(tiles []tile) string {
	names := make([]string, len(tiles))
	for i, t := range tiles {
		names[i] = t.name()
	}
	return strings.Join(names, " ")
}
