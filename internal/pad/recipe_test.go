package pad_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairedge/internal/pad"
	"fairedge/internal/problem"
)

// multiply returns a number given as text times k, rounded to what a recipe keeps.
func multiply(t *rapid.T, text string, k float64) string {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return strconv.FormatFloat(math.Round(v*k*1e6)/1e6, 'f', -1, 64)
}

func TestBuiltInRecipesReadBackTheSame(t *testing.T) {
	all := pad.BuiltIn()
	if len(all) < 8 {
		t.Errorf("%d built-in recipes, want those of all styles and shapes", len(all))
	}
	styles := map[pad.Style]bool{}
	for _, r := range all {
		styles[r.Style] = true
		again, err := pad.ParseRecipe("x", r.Text())
		if err != nil {
			t.Fatalf("%s: %v\n%s", r.Name, err, r.Text())
		}
		if again != r {
			t.Errorf("%s reads back as %+v, want %+v", r.Name, again, r)
		}
		if r.Title == "" || r.Name == "" {
			t.Errorf("%s has no title", r.Name)
		}
	}
	if len(styles) != 4 {
		t.Errorf("styles %v, want four", styles)
	}
}

func TestEveryKeyIsWrittenWithItsMeaning(t *testing.T) {
	text := string(pad.BuiltIn()[0].Text())
	keys, meanings := pad.Keys()
	for i, key := range keys {
		if meanings[i] == "" || !strings.Contains(text, meanings[i]) {
			t.Errorf("%s is not explained in the recipe's text", key)
		}
	}
}

func TestUnitsAreFree(t *testing.T) {
	for _, text := range []string{"19.05 mm", "3/4 in", `3/4"`, "1.905cm", "0.75 inch"} {
		r, err := pad.BuiltIn()[0].With("plate.seam", text)
		if err != nil {
			t.Error(err)
		} else if got := r.Plate.Seam.Millimetres(); got != 19.05 {
			t.Errorf("%s is %v mm, want 19.05", text, got)
		}
	}
	for text, want := range map[string]float64{"35 kg/m3": 35, "35kg/m³": 35, "2.185 lb/ft3": 35.0004, "1 pcf": 16.0185} {
		r, err := pad.BuiltIn()[0].With("density", text)
		if err != nil {
			t.Error(err)
		} else if got := float64(r.Foam.Density); math.Abs(got-want) > 1e-4*want {
			t.Errorf("%s is %v kg/m³, want %v", text, got, want)
		}
	}
}

func TestMistakesInRecipesAreNamed(t *testing.T) {
	for _, c := range []struct{ file, want string }{
		{"format = 1\n[foam]\nthickness = 25", "write the unit with the number"},
		{"format = 1\n[foam]\nthickness = \"25\"", "write the unit with the number"},
		{"format = 1\n[foam]\nthicknes = \"1 in\"", `did you mean "foam.thickness"?`},
		{"format = 1\nstyl = \"boxed\"", `did you mean "style"?`},
		{"format = 1\n[foam]\nthickness = \"1 furlong\"", "write a length"},
		{"format = 1\n[foam]\nthickness = \"3 m\"", "give a length between"},
		{"format = 1\nstyle = \"round\"", "write one of: knife-edge, boxed, waterfall, bullnose"},
		{"format = 1\n[ties]\ncount = 2.5", "give a whole number from 1 to 12"},
		{"format = 1\n[piping]\non = \"perhaps\"", "write yes or no"},
		{"format = 1\n[plate]\nease = \"loose\"", "or snug"},
		{"format = 1\n[foam]\ndensity = \"35\"", "write a density"},
		{"format = 2\n", "use a newer version"},
		{"[foam]\nthickness = \"1 in\"", "format = 1"},
		{"format = 1\nbased_on = \"sofa\"", "choose one of: tie-on"},
		{"format = 1\n[foam", "not a readable recipe"},
		{"format = 1\ntitle = [\"a\", \"b\"]", "a recipe has only texts"},
	} {
		_, err := pad.ParseRecipe("shop.toml", []byte(c.file))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error %v, want %q in it", c.file, err, c.want)
		}
		if err != nil && problem.KindOf(err) != problem.Usage {
			t.Errorf("%q: kind %v, want usage", c.file, problem.KindOf(err))
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: more than one line: %v", c.file, err)
		}
	}
}

func TestWithTakesShortKeys(t *testing.T) {
	r, err := pad.BuiltIn()[0].With("thickness", "2 in")
	if err != nil || r.Foam.Thickness.Inches() != 2 {
		t.Errorf("thickness %v, error %v", r.Foam.Thickness, err)
	}
	if _, err := r.With("spare", "10%"); err != nil {
		t.Error(err)
	}
	if _, err := r.With("cut", "bias"); err != nil {
		t.Error(err)
	}
	if _, err := r.With("sides", "3 mm"); err != nil {
		t.Error(err)
	}
}

func TestAFileBasedOnAnotherChangesOnlyWhatItSays(t *testing.T) {
	r, err := pad.ParseRecipe("ours", []byte("format = 1\nbased_on = \"boxed-zip\"\n[foam]\nthickness = \"4 in\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	want, err := pad.Named("boxed-zip")
	if err != nil {
		t.Fatal(err)
	}
	want.Foam.Thickness = r.Foam.Thickness
	want.Name, want.Title = "ours", ""
	if r != want || r.Foam.Thickness.Inches() != 4 {
		t.Errorf("got %+v, want %+v", r, want)
	}
}

// Whatever the file holds: no panic, one line of error, and a recipe that was read
// is written and read back the same.
func FuzzParseRecipe(f *testing.F) {
	// Short seeds: whole recipes take the fuzzer longer to shrink than to find.
	f.Add([]byte("format = 1\nname = \"ours\"\nstyle = \"boxed\"\n[foam]\nthickness = \"3 1/8 in\"\ndensity = \"1.8 pcf\"\n[ties]\ncount = 4\n"))
	f.Add([]byte("format = 1\nbased_on = \"round\"\n[plate]\nease = \"33.3%\"\nhem = \"same\"\n"))
	f.Add([]byte("format = 1\ntitle = \"\\u0001\"\n"))
	f.Add([]byte("format = 9e9\n[a.b.c]\nd = 1979-05-27\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := pad.ParseRecipe("fuzz", data)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("more than one line: %q", err)
			}
			return
		}
		again, err := pad.ParseRecipe("fuzz", r.Text())
		if err != nil {
			t.Fatalf("cannot read its own text: %v\n%s", err, r.Text())
		}
		if again != r {
			t.Errorf("read back as %+v, want %+v", again, r)
		}
	})
}
