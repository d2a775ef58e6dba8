package pad_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairedge/internal/curve"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
)

// wild are values that a person might type, sensible and not, for every kind of key.
var wild = []string{"0 mm", "1 mm", "3 mm", "6 mm", "1/2 in", "20 mm", "2 in", "75 mm", "150 mm", "400 mm", "1 m", "2 m", "-10 mm", "-30 mm", "0", "1", "2", "3", "4", "7",
	"1%", "10%", "25%", "50%", "100%", "square", "tight", "yes", "no", "same", "boxed", "knife-edge", "waterfall", "bullnose", "hand", "zip", "bias", "straight",
	"per side", "overall", "round", "trim", "mitre", "tabs", "strings", "none", "corners", "ticks", "notches", "to front", "to back", "35 kg/m3", "1.8 pcf"}

// Whatever a recipe says, the pad is refused in a sentence or comes out sound.
func TestAnyRecipeIsCutOrRefused(t *testing.T) {
	keys, _ := pad.Keys()
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecipe(t)
		for range rapid.IntRange(1, 6).Draw(t, "changes") {
			key, value := rapid.SampledFrom(keys).Draw(t, "key"), rapid.SampledFrom(wild).Draw(t, "value")
			if changed, err := r.With(key, value); err == nil {
				r = changed
			}
		}
		p, err := pad.Cut(seatIn(t, drawSeat(t)), r)
		if err != nil {
			if problem.KindOf(err) != problem.Usage || strings.Contains(err.Error(), "\n") {
				t.Fatalf("refused with %q, kind %v", err, problem.KindOf(err))
			}
			return
		}
		if err := sound(p); err != nil {
			t.Fatal(err)
		}
	})
}

// sound returns what is wrong with a pad.
func sound(p pad.Pad) error {
	for _, piece := range p.Pieces {
		for _, line := range []curve.Path{piece.CutLine, piece.SeamLine, piece.FoamLine} {
			if line.IsEmpty() {
				continue
			}
			if err := line.Validate(); err != nil {
				return fmt.Errorf("%s: %w", piece.Name, err)
			}
			if line.SignedArea() <= 0 || !line.IsSimple() {
				return fmt.Errorf("%s: a line of area %v crosses itself or runs clockwise", piece.Name, line.SignedArea())
			}
		}
		if err := soundMarks(piece.Name, piece.Marks); err != nil {
			return err
		}
	}
	for _, s := range p.Strips {
		if s.Count < 1 || s.Width <= 0 || s.Length <= 0 {
			return fmt.Errorf("%s: %d of %v by %v", s.Name, s.Count, s.Width, s.Length)
		}
		if err := soundMarks(s.Name, s.Marks); err != nil {
			return err
		}
	}
	for _, n := range p.TakeOff(3, pad.DefaultSpare()) {
		if n.Length < 0 || n.Count < 0 || n.AreaMM2 < 0 {
			return fmt.Errorf("take-off: %+v", n)
		}
	}
	return nil
}

func soundMarks(name string, marks []pad.Mark) error {
	for _, k := range marks {
		if !k.At.IsFinite() || !k.From.IsFinite() || !k.To.IsFinite() || k.Words == "" {
			return fmt.Errorf("%s: mark %+v", name, k)
		}
		for _, s := range k.Strokes {
			if !s.From.IsFinite() || !s.To.IsFinite() {
				return fmt.Errorf("%s: mark %+v", name, k)
			}
		}
	}
	return nil
}
