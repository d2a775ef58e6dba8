package job

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"fairedge/internal/fusion"
	"fairedge/internal/likeness"
	"fairedge/internal/plane"
)

// called names a photo for a person.
func (s *Several) called(number int) string {
	return fmt.Sprintf("photo %d (%s)", number, filepath.Base(s.Photos[number-1].Path))
}

// where says in words where on the seat a point of the best photo's bench is.
func (m *Measured) where(p plane.Point) string {
	return likeness.Place(m.Shape.Net, m.Shape.SeatFromPlane.Apply(p))
}

// severalWarnings says which photos do not count, and why.
func (m *Measured) severalWarnings() []string {
	s := m.Several
	if s == nil {
		return nil
	}
	var words []string
	if d := s.Dispute; d != nil {
		words = append(words, fmt.Sprintf(
			"photos %d and %d lie %.1f mm apart at the %s, more than either may be off; of two neither can be blamed, so nothing was averaged, the outline is photo %d's and its uncertainty takes the difference in: see that the template lies flat and take a third photo",
			d.Photos[0], d.Photos[1], d.Off, m.where(d.At), s.Best))
	}
	for _, a := range s.LeftOut {
		side := "outside"
		if a.Off < 0 {
			side = "inside"
		}
		words = append(words, fmt.Sprintf("%s lies %.1f mm %s the others at the %s; left out", s.called(a.Photo), math.Abs(a.Off), side, m.where(a.At)))
	}
	for _, one := range s.Photos {
		if one.Skipped != nil {
			words = append(words, fmt.Sprintf("%s was not used: %v", s.called(one.Number), one.Skipped))
		}
	}
	return words
}

// severalWords says what was averaged and how well the photos repeat each other.
func (m *Measured) severalWords() []string {
	s := m.Several
	if s == nil {
		return nil
	}
	if len(s.Used) < 2 {
		return []string{fmt.Sprintf("Photos: the outline is that of photo %d alone; the pictures show it.", s.Best)}
	}
	r := s.Repeat
	return []string{
		fmt.Sprintf("Photos: outline averaged from %d of %d (%s); the pictures show photo %d, by itself within %.1f mm.",
			len(s.Used), len(s.Photos), list(s.Used), s.Best, up(s.Photos[s.Best-1].Within)),
		fmt.Sprintf("Repeatability (ISO 5725-2, %d photos): two photos seldom differ by more than r = %s.", r.Photos, limits(r)),
	}
}

func limits(r fusion.Repeatability) string {
	return fmt.Sprintf("%.1f mm in width, %.1f mm in depth, %.1f mm around, %.1f mm across the outline (s_r %.2f, %.2f, %.2f, %.2f mm)",
		up(fusion.Limit(r.Width)), up(fusion.Limit(r.Depth)), up(fusion.Limit(r.Perimeter)), up(fusion.Limit(r.Distance)),
		r.Width, r.Depth, r.Perimeter, r.Distance)
}

func list(numbers []int) string {
	words := make([]string, len(numbers))
	for i, n := range numbers {
		words[i] = fmt.Sprint(n)
	}
	return strings.Join(words, ", ")
}

// PhotosReport is what several photos of one template say, in plain values.
type PhotosReport struct {
	Best          int                  `json:"best"` // the photo that everything else in the document is about
	Used          []int                `json:"used"`
	Each          []OnePhotoReport     `json:"each"`
	Disagree      *DisputeReport       `json:"disagree,omitempty"`
	Repeatability *RepeatabilityReport `json:"repeatability,omitempty"`
}

// OnePhotoReport is one photo by itself.
type OnePhotoReport struct {
	Number    int        `json:"number"`
	File      string     `json:"file"`
	Width     float64    `json:"width,omitempty"`
	WidthU    float64    `json:"width_U,omitempty"`
	Depth     float64    `json:"depth,omitempty"`
	DepthU    float64    `json:"depth_U,omitempty"`
	Perimeter float64    `json:"perimeter,omitempty"`
	Within    float64    `json:"within,omitempty"`
	LeftOut   *OffReport `json:"left_out,omitempty"`
	NotUsed   string     `json:"not_measured,omitempty"`
}

// OffReport is how far a photo lies off the others.
type OffReport struct {
	Off    float64 `json:"off"` // positive: outside
	Where  string  `json:"where"`
	Sigmas float64 `json:"standard_deviations"`
}

// DisputeReport is two photos that disagree.
type DisputeReport struct {
	Photos [2]int  `json:"photos"`
	Apart  float64 `json:"apart"`
	Where  string  `json:"where"`
}

// RepeatabilityReport holds the standard deviations s_r; the limit r is 2.8 times each.
type RepeatabilityReport struct {
	Photos    int          `json:"photos"`
	Width     SpreadReport `json:"width"`
	Depth     SpreadReport `json:"depth"`
	Perimeter SpreadReport `json:"perimeter"`
	Outline   SpreadReport `json:"outline"`
}

// SpreadReport is a repeatability standard deviation and the limit from it.
type SpreadReport struct {
	SR float64 `json:"s_r"`
	R  float64 `json:"r"`
}

func photosReport(m *Measured) *PhotosReport {
	s := m.Several
	if s == nil {
		return nil
	}
	r := &PhotosReport{Best: s.Best, Used: append([]int{}, s.Used...)}
	for _, one := range s.Photos {
		r.Each = append(r.Each, m.onePhotoReport(one))
	}
	if d := s.Dispute; d != nil {
		r.Disagree = &DisputeReport{d.Photos, round3(d.Off), m.where(d.At)}
	}
	if s.Repeat.Photos > 1 {
		spread := func(x float64) SpreadReport { return SpreadReport{round3(x), round3(fusion.Limit(x))} }
		r.Repeatability = &RepeatabilityReport{s.Repeat.Photos, spread(s.Repeat.Width), spread(s.Repeat.Depth),
			spread(s.Repeat.Perimeter), spread(s.Repeat.Distance)}
	}
	return r
}

func (m *Measured) onePhotoReport(one OnePhoto) OnePhotoReport {
	r := OnePhotoReport{Number: one.Number, File: filepath.Base(one.Path), Width: round3(one.Width), WidthU: round3(one.WidthU),
		Depth: round3(one.Depth), DepthU: round3(one.DepthU), Perimeter: round3(one.Perimeter), Within: round3(one.Within)}
	if one.Skipped != nil {
		r.NotUsed = one.Skipped.Error()
	}
	for _, a := range m.Several.LeftOut {
		if a.Photo == one.Number {
			r.LeftOut = &OffReport{round3(a.Off), m.where(a.At), round3(a.Sigmas)}
		}
	}
	return r
}
