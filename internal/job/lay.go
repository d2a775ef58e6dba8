package job

import (
	"context"
	"fmt"
	"io"

	"fairedge/internal/cloth"
	"fairedge/internal/laysheet"
	"fairedge/internal/pad"
	"fairedge/internal/render"
	"fairedge/internal/safefile"
	"fairedge/internal/sheet"
)

// LayRequest says what is laid on what.
type LayRequest struct {
	Cloth   cloth.Cloth
	Foam    cloth.Foam
	Orders  []cloth.Order
	Options cloth.Options
	Spare   pad.Spare
	Label   Label
	Paper   sheet.Paper // of the drawings
}

// LayResult is a lay with its files.
type LayResult struct {
	Laid  *cloth.Laid
	Foam  []*cloth.FoamLaid
	List  []cloth.Line
	JSON  []byte
	Files []safefile.File
	Guide []GuideLine
}

// LayPads lays cloth and foam of all orders and makes the files. When the context ends, the
// best lay so far is kept.
func LayPads(ctx context.Context, r LayRequest) (LayResult, error) {
	var result LayResult
	var err error
	if result.Laid, err = cloth.Lay(ctx, r.Cloth, r.Orders, r.Options); err != nil {
		return result, err
	}
	if result.Foam, err = cloth.LayFoam(ctx, r.Foam, r.Orders, r.Options); err != nil {
		return result, err
	}
	result.List = cloth.TakeOff(result.Laid, result.Foam, r.Spare)
	if result.JSON, err = cloth.Report(result.Laid, result.Foam, result.List); err != nil {
		return result, err
	}
	list, err := cloth.CSV(result.List)
	if err != nil {
		return result, err
	}
	pages := laysheet.Pages(result.Laid, result.Foam, laysheet.Heading{Job: r.Label.Name, Date: r.Label.Date, Program: r.Label.Program, Paper: r.Paper})
	title := "Lay"
	if r.Label.Name != "" {
		title = r.Label.Name + ": lay"
	}
	w := &fileWriter{label: r.Label, meta: render.Meta{Title: title, Creator: r.Label.Program, Date: r.Label.Date}}
	w.add("lay.pdf", func(out io.Writer) error { return render.PDF(out, pages, w.meta) })
	w.guide = append(w.guide, GuideLine{"lay.pdf", "the lay to scale, and where to chalk every piece"})
	for i, page := range pages {
		name := fmt.Sprintf("lay-%d.svg", i+1)
		w.add(name, func(out io.Writer) error { return render.SVG(out, page) })
	}
	w.guide = append(w.guide, GuideLine{"lay-1.svg ...", "the same pages for the screen"})
	w.files = append(w.files, safefile.File{Name: "take-off.csv", Data: list}, safefile.File{Name: "lay.json", Data: result.JSON})
	w.guide = append(w.guide, GuideLine{"take-off.csv", "what to buy and to cut"}, GuideLine{"lay.json", "everything in plain numbers"})
	result.Files, result.Guide = w.files, w.guide
	return result, w.err
}
