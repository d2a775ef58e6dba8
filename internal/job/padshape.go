package job

import (
	"bytes"
	"fmt"
	"math"

	"fairedge/internal/pad"
	"fairedge/internal/problem"
	"fairedge/internal/shapefile"
)

// ShapeFrom reads a seat out of what was given: a measurement.json, a shape file, or a
// drawing of another program, SVG or DXF, whose largest closed line it is unless the
// options say another. said are sentences about what was read.
func ShapeFrom(data []byte, o shapefile.ImportOptions) (d shapefile.Document, said []string, err error) {
	if !isDrawing(data) {
		if o != (shapefile.ImportOptions{}) {
			return d, nil, problem.New(problem.Usage, "a shape of fairedge has its unit and its line", "leave --unit, --line and --back out")
		}
		d, err = shapefile.DecodeDocument(data)
		return d, nil, err
	}
	imported, err := shapefile.Import(data, o)
	if err != nil {
		return d, nil, err
	}
	if len(imported.Lines) > 1 {
		said = append(said, fmt.Sprintf("The drawing has %d closed lines; %s was taken.", len(imported.Lines), lineWords(imported)))
	}
	return shapefile.Document{Shape: imported.Shape, Provenance: "imported from a drawing"}, said, nil
}

// isDrawing tells a drawing of another program from a file of fairedge.
func isDrawing(data []byte) bool {
	text := bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")))
	if bytes.HasPrefix(text, []byte("{")) || bytes.HasPrefix(text, []byte("[")) {
		return false
	}
	if !bytes.HasPrefix(text, []byte("<")) {
		return true
	}
	_, err := shapefile.DecodeSVG(data)
	return err != nil && !bytes.Contains(data, []byte("fairedge_shape"))
}

func lineWords(i shapefile.Imported) string {
	l := i.Lines[i.Taken]
	if l.Name == "" {
		return fmt.Sprintf("number %d by size", i.Taken+1)
	}
	return fmt.Sprintf("%q", l.Name)
}

// ShapeAccuracy says how sure a shape is, as the sheets say it; empty when that is not
// known. Rounded up, so that it never promises more than was found.
func ShapeAccuracy(d shapefile.Document) string {
	if d.Uncertainty <= 0 {
		return ""
	}
	return fmt.Sprintf("The outline is right within %.1f mm all round (19 of 20).", math.Ceil(d.Uncertainty.Millimetres()*10-1e-9)/10)
}

// RecipeFrom returns a built-in recipe by its name, or the one in a file's bytes, with
// the changes "key=value" made to it in order.
func RecipeFrom(name string, file []byte, changes []Change) (pad.Recipe, error) {
	var r pad.Recipe
	var err error
	if file != nil {
		r, err = pad.ParseRecipe(name, file)
	} else {
		r, err = pad.Named(name)
	}
	for _, c := range changes {
		if err != nil {
			break
		}
		r, err = r.With(c.Key, c.Value)
	}
	return r, err
}

// Change is one value of a recipe as typed.
type Change struct{ Key, Value string }
