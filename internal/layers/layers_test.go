// Package layers holds the layer rule of the program: who may import whom, and
// which package owns which heavy dependency. It has no code, only this test.
package layers_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

const module = "fairedge/"

// mayImport lists, for each package, the packages of this program that it may
// import. A package that is missing here fails the test: decide its layer first.
var mayImport = map[string]string{
	"internal/length":         "",
	"internal/problem":        "",
	"internal/plane":          "",
	"internal/uncertainty":    "",
	"internal/safefile":       "internal/problem",
	"internal/edgesamples":    "internal/problem",
	"internal/recordfile":     "internal/problem internal/safefile",
	"internal/printlog":       "internal/card internal/length internal/problem internal/recordfile",
	"internal/lenslog":        "internal/camera internal/measure internal/photo internal/problem internal/recordfile",
	"internal/archive":        "internal/problem",
	"internal/photo":          "internal/problem",
	"internal/opencv":         "internal/photo",
	"internal/card":           "internal/plane internal/length internal/problem internal/uncertainty",
	"internal/camera":         "internal/photo internal/plane internal/problem",
	"internal/detect":         "internal/card internal/opencv internal/photo internal/plane internal/problem",
	"internal/measure":        "internal/camera internal/card internal/detect internal/length internal/photo internal/plane internal/problem internal/uncertainty",
	"internal/sweep":          "internal/camera internal/card internal/curve internal/fusion internal/measure internal/photo internal/plane",
	"internal/fusion":         "internal/curve internal/likeness internal/measure internal/plane",
	"internal/curve":          "internal/plane internal/problem",
	"internal/shape":          "internal/curve internal/length internal/plane internal/problem",
	"internal/pad":            "internal/curve internal/length internal/plane internal/problem internal/shape",
	"internal/nest":           "internal/nest/nestcheck internal/plane internal/problem",
	"internal/nest/nestcheck": "internal/plane",
	"internal/likeness":       "internal/curve internal/plane internal/shape",
	"internal/cloth":          "internal/curve internal/length internal/nest internal/nest/nestcheck internal/pad internal/plane internal/problem",
	"internal/laysheet":       "internal/cloth internal/curve internal/length internal/plane internal/sheet",
	"internal/shapefile":      "internal/curve internal/length internal/plane internal/problem internal/shape",
	"internal/sheet":          "internal/card internal/curve internal/length internal/pad internal/plane internal/shape internal/problem",
	"internal/render":         "internal/curve internal/length internal/photo internal/plane internal/problem internal/sheet",
	"internal/cutsheet":       "internal/curve internal/length internal/pad internal/plane internal/shape internal/sheet",
	"internal/job":            "internal/edgesamples internal/camera internal/card internal/cloth internal/curve internal/cutsheet internal/detect internal/fusion internal/laysheet internal/length internal/likeness internal/measure internal/pad internal/photo internal/plane internal/problem internal/render internal/safefile internal/shape internal/shapefile internal/sheet internal/uncertainty",
	"internal/cli":            "internal/archive internal/card internal/cloth internal/curve internal/detect internal/job internal/length internal/lenslog internal/likeness internal/measure internal/pad internal/photo internal/plane internal/printlog internal/problem internal/safefile internal/shape internal/shapefile internal/sheet internal/sweep",
	"internal/testscene":      "internal/card internal/curve internal/photo internal/plane",
	"internal/layers":         "",
	"cmd/fairedge":            "internal/cli",
}

// owners lists the one package that may import each heavy dependency.
var owners = map[string]string{
	"gocv.io/x/gocv":                 "internal/opencv",
	"github.com/tdewolff/canvas":     "internal/render",
	"github.com/spf13/cobra":         "internal/cli",
	"github.com/bep/imagemeta":       "internal/photo",
	"github.com/schollz/progressbar": "internal/cli",
	"modernc.org/sqlite":             "internal/archive",
	"github.com/BurntSushi/toml":     "internal/pad",
}

type goPackage struct {
	ImportPath string
	Imports    []string
}

func listPackages(t *testing.T) []goPackage {
	t.Helper()
	command := exec.Command("go", "list", "-json=ImportPath,Imports", "./...")
	command.Dir = "../.."
	out, err := command.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var packages []goPackage
	for decoder := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p goPackage
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			return packages
		} else if err != nil {
			t.Fatal(err)
		}
		packages = append(packages, p)
	}
}

func TestImportsKeepToTheLayers(t *testing.T) {
	for _, p := range listPackages(t) {
		name := strings.TrimPrefix(p.ImportPath, module)
		allowed, known := mayImport[name]
		if !known {
			t.Errorf("%s has no layer: add it to mayImport", name)
		}
		for _, imported := range p.Imports {
			if inside, ok := strings.CutPrefix(imported, module); ok {
				if !slices.Contains(strings.Fields(allowed), inside) {
					t.Errorf("%s must not import %s", name, inside)
				}
				continue
			}
			for dependency, owner := range owners {
				if strings.HasPrefix(imported, dependency) && name != owner {
					t.Errorf("%s must not import %s: only %s does", name, imported, owner)
				}
			}
		}
	}
}
