package measure

import (
	"fmt"
	"sort"

	"fairedge/internal/card"
	"fairedge/internal/detect"
	"fairedge/internal/length"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// Input is what Calibrate needs to know of a photo.
type Input struct {
	Sightings     []detect.Sighting
	Width, Height int // of the upright photo, px
	Lens          photo.Lens
	// Prints are the records of the prints in the picture; a print without a record
	// counts as unmeasured.
	Prints []card.Print
	// TemplateHeight is how far the template's surface lies above the cards'; 0 when
	// both lie on one bench, negative when the cards lie higher.
	TemplateHeight length.Length
	// Profile is what is known of the lens from photos taken to learn it, or nil. Marks
	// that contradict it win: Calibration.Priors.Profile says whether it was used.
	Profile *LensProfile
}

// Set is the same in plain lists, for any flat targets with marks at known places.
type Set struct {
	Targets        []Target // the first one fixes the plane frame
	Prints         []card.Print
	Width, Height  int
	Candidates     []Priors // the marks choose among them; the first is the expected one
	TemplateHeight length.Length
}

// Params are the thresholds of Calibrate.
type Params struct {
	// MinMarks in all, and MinMarksPerCard for a card to count. A pose has 6 unknowns
	// and a card's shape 6 more, so fewer than 12 marks (24 numbers) measure nothing.
	MinMarks, MinMarksPerCard int
	// Huber: residuals beyond so many sigmas count linearly. Chi-square with two
	// degrees of freedom exceeds 3² once in 90 good marks; a smaller value slows the
	// fit, a larger one lets a wrong mark pull.
	Huber float64
	// Blunder: marks beyond so many sigmas are set aside after the first fit. 5 sigma
	// happens to one good mark in 270 000.
	Blunder float64
	// MaxBlunders: with a larger share set aside the fit is not believed.
	MaxBlunders float64
	// MaxNoise: marks that scatter so many times more than they should mean that
	// something else is wrong: a mixed-up card, a bent picture, panorama stitching.
	MaxNoise float64
	// Misfit: when the marks scatter so many times more than they should after the
	// first fit, it is made again with every lens that the candidates allow.
	Misfit float64
	// LensStrain: a fitted lens farther from its priors (sum of squares in standard
	// deviations) is doubted and other priors are tried. Of seven terms most of which
	// the marks hardly move, 9 is rare; a smaller value only costs time.
	LensStrain float64
	// LessExpected: other priors must make the marks more probable by this (natural
	// logarithm; ln 20) to replace the expected ones. Smaller believes accidents,
	// larger clings to a wrong focal length.
	LessExpected float64
}

// DefaultParams returns the thresholds described at Params.
func DefaultParams() Params {
	return Params{
		MinMarks: 16, MinMarksPerCard: 8, Huber: 3, Blunder: 5, MaxBlunders: 0.2, MaxNoise: 5,
		Misfit: 1.5, LensStrain: 9, LessExpected: 3,
	}
}

// Calibrate finds the camera, its lens and the lie of the cards from the marks
// seen in one photo. Failures are problem.NoCard, TooFewMarks or PoorFit.
func Calibrate(input Input) (*Calibration, error) {
	set, err := setFromInput(input, DefaultParams())
	if err != nil {
		return nil, err
	}
	return CalibrateSet(set)
}

func setFromInput(input Input, params Params) (Set, error) {
	if len(input.Sightings) == 0 {
		return Set{}, problem.New(problem.NoCard, "there is no scale card in the photo",
			"lay at least one printed card beside the template")
	}
	set := Set{Width: input.Width, Height: input.Height, TemplateHeight: input.TemplateHeight}
	set.Candidates = candidatesFor(input.Lens, input.Width, input.Height)
	if input.Profile != nil {
		known := input.Profile.Over(set.Candidates[0], input.Lens, input.Width, input.Height)
		set.Candidates = append([]Priors{known}, set.Candidates...)
	}
	sightings := append([]detect.Sighting(nil), input.Sightings...)
	sort.SliceStable(sightings, func(i, j int) bool { return isBefore(sightings[i].Card, sightings[j].Card) })
	seen := 0
	for i, s := range sightings {
		seen += len(s.Marks)
		if i > 0 && s.Card == sightings[i-1].Card {
			return Set{}, problem.Newf(problem.PoorFit, "use each card once, and print a card only once",
				"%v is in the photo twice", s.Card)
		}
		print := set.printOf(s.Card, input.Prints)
		target, err := targetFromSighting(s, print)
		if err != nil {
			return Set{}, err
		}
		if len(target.Marks) >= params.MinMarksPerCard {
			set.Targets = append(set.Targets, target)
		}
	}
	if len(set.Targets) == 0 {
		return Set{}, tooFewMarks(seen, params)
	}
	return set, nil
}

func isBefore(a, b card.ID) bool {
	switch {
	case a.Edition != b.Edition:
		return a.Edition < b.Edition
	case a.Paper != b.Paper:
		return a.Paper < b.Paper
	}
	return a.Number < b.Number
}

// printOf returns the index of the print that card id was cut from, adding its
// record to the set at first use.
func (s *Set) printOf(id card.ID, records []card.Print) int {
	for i, p := range s.Prints {
		if p.Covers(id) {
			return i
		}
	}
	print := card.UnmeasuredPrint(id.Paper, id.Number == card.Frame)
	for _, p := range records {
		if p.Covers(id) {
			print = p
		}
	}
	s.Prints = append(s.Prints, print)
	return len(s.Prints) - 1
}

// candidatesFor returns the priors for a lens: the expected ones first, then what
// else the camera may be when the marks contradict them.
func candidatesFor(lens photo.Lens, width, height int) []Priors {
	class := ClassOf(lens)
	classes := []LensClass{class}
	switch class {
	case PhoneWithFocal:
		classes = append(classes, CameraWithFocal, UnknownPhone, UnknownCamera)
	case CameraWithFocal, PhoneZoomed, UnknownPhone:
		classes = append(classes, UnknownCamera)
	}
	var candidates []Priors
	for _, c := range classes {
		stated := lens
		if c == UnknownPhone || c == UnknownCamera {
			stated.Focal35MM = 0 // not believed
		}
		candidates = append(candidates, PriorsFor(c, stated, width, height))
	}
	return candidates
}

func tooFewMarks(seen int, params Params) error {
	return problem.Newf(problem.TooFewMarks, "keep the whole card in the picture, flat, sharp and uncovered",
		"only %d card marks can be seen and at least %d are needed", seen, params.MinMarks)
}

// check reports whether the set can be fitted at all.
func (s Set) check(params Params) error {
	total := 0
	for _, t := range s.Targets {
		total += len(t.Marks)
	}
	if total < params.MinMarks {
		return tooFewMarks(total, params)
	}
	if s.Width <= 0 || s.Height <= 0 || len(s.Candidates) == 0 {
		return fmt.Errorf("calibrating needs a picture size and priors")
	}
	for _, p := range s.Candidates {
		if !(p.Lens.F > 0) {
			return fmt.Errorf("calibrating needs priors with a focal length")
		}
	}
	for _, t := range s.Targets {
		if t.Print < 0 || t.Print >= len(s.Prints) {
			return fmt.Errorf("target %q has no print", t.Name)
		}
		for _, m := range t.Marks {
			if !m.Drawn.IsFinite() || !isFinite(m.Seen) || !(m.Sigma > 0) {
				return fmt.Errorf("target %q has a mark without place or uncertainty", t.Name)
			}
		}
	}
	return nil
}
