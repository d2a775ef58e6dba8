package cloth

import (
	"fmt"

	"fairedge/internal/length"
)

// Report writes the lay, the foam and the list as JSON: every length in millimetres, in
// the frame of the package. Same lay, same bytes.
func Report(laid *Laid, foam []*FoamLaid, lines []Line) ([]byte, error) {
	r := reportForm{TakeOff: formsOf(lines), Foam: []foamForm{}}
	if laid != nil && len(laid.Pieces) > 0 {
		r.Cloth = clothFormOf(laid)
	}
	for _, f := range foam {
		r.Foam = append(r.Foam, foamFormOf(f))
	}
	return indented(r)
}

type reportForm struct {
	Cloth   *clothForm `json:"cloth,omitempty"`
	Foam    []foamForm `json:"foam"`
	TakeOff []lineForm `json:"take_off"`
}

type clothForm struct {
	Width    float64      `json:"width_mm"`
	Usable   float64      `json:"usable_width_mm"`
	Squaring float64      `json:"squaring_each_end_mm"`
	Folded   bool         `json:"folded,omitempty"`
	Needed   float64      `json:"needed_mm"`
	Buy      float64      `json:"buy_mm"`
	ByRows   float64      `json:"needed_in_rows_mm"`
	Usage    float64      `json:"usage"`
	Motif    *pointForm   `json:"motif,omitempty"`
	Have     *haveForm    `json:"have,omitempty"`
	Stopped  bool         `json:"stopped_early,omitempty"`
	Pieces   []placedForm `json:"pieces"`
	Left     []leftForm   `json:"left_over"`
	Notes    []string     `json:"notes"`
}

type pointForm struct {
	Point  string  `json:"point,omitempty"`
	Along  float64 `json:"along_mm"`
	Across float64 `json:"across_mm"`
}

type haveForm struct {
	Have   float64 `json:"have_mm"`
	Over   float64 `json:"over_mm"`
	Enough bool    `json:"enough"`
	Beyond []int   `json:"pieces_beyond,omitempty"`
	Pads   *int    `json:"pads,omitempty"`
	Words  string  `json:"words"`
}

type placedForm struct {
	Number  int       `json:"number"`
	Name    string    `json:"name"`
	Copy    int       `json:"copy"`
	Degrees float64   `json:"turned_degrees"`
	Lies    string    `json:"lies"`
	First   pointForm `json:"first"`
	Second  pointForm `json:"second"`
	With    string    `json:"cut_with,omitempty"`
	Spare   bool      `json:"one_layer_only,omitempty"`
}

type leftForm struct {
	Along  [2]float64 `json:"along_mm"`
	Across [2]float64 `json:"across_mm"`
	Words  string     `json:"words"`
}

type foamForm struct {
	Thickness float64          `json:"thickness_mm"`
	Density   float64          `json:"density_kg_m3"`
	Firmness  string           `json:"firmness,omitempty"`
	Sheet     [2]float64       `json:"sheet_mm"`
	Sheets    int              `json:"sheets"`
	Usage     float64          `json:"usage"`
	MassKg    float64          `json:"mass_kg"`
	Blanks    []foamPlacedForm `json:"blanks"`
}

type foamPlacedForm struct {
	Name    string     `json:"name"`
	Copy    int        `json:"copy"`
	Sheet   int        `json:"sheet"`
	Degrees float64    `json:"turned_degrees"`
	From    [2]float64 `json:"from_mm"`
	To      [2]float64 `json:"to_mm"`
}

// mm6 rounds to a nanometre, so that sums of decimals read as they were meant.
func mm6(l length.Length) float64 { return roundTo(l.Millimetres(), 1e6) }

func clothFormOf(l *Laid) *clothForm {
	c := &clothForm{
		Width: mm6(l.Cloth.Width), Usable: mm6(l.Cloth.Usable()), Squaring: mm6(l.Cloth.Squaring), Folded: l.Cloth.Fold,
		Needed: mm6(l.Needed), Buy: mm6(l.Buy), ByRows: mm6(l.Rows), Usage: roundTo(l.Usage, 1e4), Stopped: l.Stopped,
		Left: []leftForm{}, Notes: l.Notes,
	}
	if m := l.Motif; m != nil {
		c.Motif = &pointForm{Along: mm6(m.Along), Across: mm6(m.Across)}
	}
	if e := l.Enough; e != nil {
		c.Have = &haveForm{Have: mm6(e.Have), Over: mm6(e.Over), Enough: e.Over >= 0, Beyond: e.Beyond, Words: e.Words}
		if e.Pads >= 0 {
			c.Have.Pads = &e.Pads
		}
	}
	for _, p := range l.Pieces {
		form := placedForm{Number: p.Number, Name: l.Parts[p.Part].Name, Copy: p.Copy, Degrees: p.Degrees, Lies: p.Turn,
			First: p.First.form(), Second: p.Second.form(), Spare: p.SpareTwin}
		if p.Folded && !p.SpareTwin {
			form.With = fmt.Sprintf("%s %d", l.Parts[p.Twin].Name, p.TwinCopy)
		}
		c.Pieces = append(c.Pieces, form)
	}
	for _, o := range l.Left {
		c.Left = append(c.Left, leftForm{[2]float64{roundTo(o.At.Min.Y, 1e6), roundTo(o.At.Max.Y, 1e6)},
			[2]float64{roundTo(o.At.Min.X, 1e6), roundTo(o.At.Max.X, 1e6)}, o.Words})
	}
	return c
}

func (c Chalk) form() pointForm { return pointForm{c.Point, mm6(c.Along), mm6(c.Across)} }

func foamFormOf(f *FoamLaid) foamForm {
	form := foamForm{Thickness: mm6(f.Thickness), Density: float64(f.Density), Firmness: f.Firmness,
		Sheet: [2]float64{mm6(f.SheetLength), mm6(f.SheetWidth)}, Sheets: f.Sheets, Usage: roundTo(f.Usage, 1e4), MassKg: roundTo(f.MassKg, 1e4)}
	for _, p := range f.Pieces {
		b := boxOf(f.Outline(p))
		form.Blanks = append(form.Blanks, foamPlacedForm{f.Parts[p.Part].Name, p.Copy, p.Sheet, p.Degrees,
			[2]float64{roundTo(b.Min.X, 1e6), roundTo(b.Min.Y, 1e6)}, [2]float64{roundTo(b.Max.X, 1e6), roundTo(b.Max.Y, 1e6)}})
	}
	return form
}
