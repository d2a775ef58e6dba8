package nest

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"fairedge/internal/plane"
)

// instances are the file names in testdata/esicup.
var instances = []string{
	"albano", "blaz1", "dagli", "fu", "jakobs1", "jakobs2", "mao", "marques",
	"shapes0", "shapes1", "shirts", "swim", "trousers",
}

// readInstance reads one instance; its units are taken as millimetres.
func readInstance(t testing.TB, name string) *Problem {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "esicup", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Height float64 `json:"strip_height"`
		Items  []struct {
			Demand int       `json:"demand"`
			Turns  []float64 `json:"allowed_orientations"`
			Shape  struct {
				Data [][2]float64 `json:"data"`
			} `json:"shape"`
		} `json:"items"`
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	p := &Problem{Width: file.Height}
	for _, it := range file.Items {
		item := Item{Name: name, Demand: it.Demand, Turns: it.Turns}
		for _, v := range it.Shape.Data {
			item.Outline = append(item.Outline, plane.Point{X: v[0], Y: v[1]})
		}
		p.Items = append(p.Items, item)
	}
	return p
}
