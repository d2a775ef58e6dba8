// Package testscene makes photos whose truth is known: a bench with a traced
// template and printed cards, seen by a phone. Only tests and benchmarks import
// it. It shares no projection code with the program, so that the two can
// contradict each other.
//
// Light is linear until the sensor's tone curve; a tone is the share of light
// that a surface returns, 0 to 1. The bench frame is that of package plane (mm,
// y up, seen from above) with z up from the bench.
package testscene

import (
	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Kind says how the template shows its edge.
type Kind int

// The three ways a template comes.
const (
	DrawnLine   Kind = iota // Outline is drawn as a closed line; its middle is the truth
	CutTemplate             // Outline is the edge of the cut-out sheet
	OpenLine                // Outline is open, drawn from the sheet's edge to the same edge
)

// Scene is everything in front of the camera, and the camera. The zero value is
// not useful; start from Workbench.
type Scene struct {
	// Outline is the truth, mm, counter-clockwise. For OpenLine it is an open path
	// whose ends lie on the sheet's straight edge; the chord between them closes it.
	Outline curve.Path
	Kind    Kind
	Line    Pen // draws Outline, unless Kind is CutTemplate
	Sheet   Sheet
	Bench   Bench
	Cards   []Placement
	Strokes []Stroke // writing, arrows, ticks, a faint second outline
	Rulers  []Block  // tones with a dark tick every millimetre along the lower side
	Covers  []Block  // things that lie over everything else
	Shadows []Shadow
	Camera  Camera
	Sensor  Sensor
	Seed    uint64 // of textures and noise
}

// Tint is a colour: how far Cb and Cr lie from grey, in levels of the finished
// picture at full tone. Red ink has about {-20, 70}, blue {50, -20}.
type Tint struct{ Cb, Cr float64 }

// Pen is what a line is drawn with.
type Pen struct {
	WidthMM  float64
	Darkness float64 // share of the ground that the ink hides, 0 to 1
	Tone     float64 // of the ink itself; black marker about 0.03
	Tint     Tint
	Gaps     []Gap // stretches left out
}

// Gap is a stretch of a line that is not drawn, by arc length from its start.
type Gap struct{ FromMM, LengthMM float64 }

// Stroke is a line other than the outline, on the sheet or on the bench.
type Stroke struct {
	Path    curve.Path // open or closed, mm
	Pen     Pen
	OnSheet bool // drawn only where the sheet is, and at its height
}

// Sheet is the template's material. For CutTemplate its size is the outline's.
type Sheet struct {
	WidthMM, HeightMM float64
	PlaneFromSheet    plane.Rigid // the sheet's frame has its origin in the middle
	Tone              float64     // white paper 0.85, kraft 0.35
	Opacity           float64     // 1 hides the bench, film about 0.3
	Grain             float64     // amplitude of the paper's clouds as a share of Tone; about 0.01
	Tint              Tint
	LiftMM            float64 // height of its upper side above the bench
}

// Bench is what everything lies on.
type Bench struct {
	Tone  float64 // oak 0.35, dark wood 0.1
	Grain float64 // amplitude of the texture as a share of Tone; wood about 0.2
	Turn  float64 // direction of the grain, rad
	Tint  Tint
	Mat   *Mat // or nil
}

// Mat is a cutting mat with a printed grid.
type Mat struct {
	WidthMM, HeightMM float64
	PlaneFromMat      plane.Rigid // origin in the middle
	Tone, LineTone    float64
	GridMM, LineMM    float64 // distance and width of the grid's lines
	Tint              Tint
}

// Placement is a printed card on the bench.
type Placement struct {
	Card          card.ID
	PlaneFromCard plane.Rigid
	LiftMM        float64 // height of its face above the bench
	ScaleX        float64 // what the printer did to its width; 0 means 1
	ScaleY        float64 // and to its height; 0 means 1
}

// Block is a plain rectangle.
type Block struct {
	WidthMM, HeightMM float64
	PlaneFromBlock    plane.Rigid // origin in the middle
	Tone              float64
	Tint              Tint
	LiftMM            float64 // height of its upper side above the bench
}

// Shadow darkens the side of a straight border that lies to the left of Along.
type Shadow struct {
	Through plane.Point // a point of the border's middle
	Along   plane.Vec
	Depth   float64 // share of the light taken, 0 to 1
	SoftMM  float64 // width of the penumbra
}

// Camera is the phone. Pixels are square.
type Camera struct {
	Width, Height      int
	F                  float64 // px
	K1, K2, P1, P2     float64 // Brown's distortion with OpenCV's signs
	CxOffset, CyOffset float64 // of the principal point from the picture's middle, px
	LookAt             plane.Point
	DistanceMM         float64 // from the lens to LookAt
	TiltDeg            float64 // 0 looks straight down
	AzimuthDeg         float64 // where the person stands: 0 at -y, 90 at +x
	RollDeg            float64 // clockwise turn of the phone about its axis
}

// Sensor is what the phone does to the light.
type Sensor struct {
	Exposure   float64 // light of a white of tone 1 as a share of full scale; 0 means 0.9
	BlurPx     float64 // sigma of the lens's blur, besides the pixel's own square; a Gaussian sampled at whole pixels
	NoiseShare float64 // sigma of the noise at full scale as a share of it; falls as the root of the light
	Linear     bool    // leave the sRGB tone curve off
	Gradient   float64 // light lost from one side of the picture to the other, share
	GradientTo float64 // direction in which it darkens, rad, in the photo's x, y
	Vignette   float64 // light lost in the corners, share
	Sharpen    float64 // amount of unsharp masking at a radius of 1 px, 0 to about 1
	JPEG       int     // quality 1 to 100 of the quantisation to imitate; 0 leaves it off
}
