package measure_test

import (
	"fairedge/internal/measure"
	"fairedge/internal/plane"
	"fairedge/internal/sweep"
)

// The scenes of the Monte Carlo tests are those of package sweep, whose truth shares no
// code with package camera.
type (
	world  = sweep.World
	truth  = sweep.Truth
	laid   = sweep.Laid
	target = sweep.Target
	scene  = sweep.Scene
	tally  = sweep.Tally
)

const (
	photoWidth  = sweep.PhotoWidth
	photoHeight = sweep.PhotoHeight
)

var (
	idealOptics       = sweep.IdealOptics
	realistic         = sweep.Realistic
	loose             = sweep.Loose
	frame             = sweep.Frame
	targetOf          = sweep.TargetOf
	a5                = sweep.A5
	several           = sweep.Four
	production        = sweep.Production
	photograph        = sweep.Photograph
	photographThrough = sweep.PhotographThrough
	randomTruth       = sweep.RandomTruth
	seenThrough       = sweep.SeenThrough
	distanceThatFills = sweep.DistanceThatFills
	exactPrint        = sweep.ExactPrint
	seeded            = sweep.Seeded
	normalErrors      = sweep.AcrossErrors
	rmsOf             = sweep.RMS
	quantile          = sweep.Quantile
)

// outlineOf measures the scene's outline.
func outlineOf(c *measure.Calibration, s scene) []plane.Point { return sweep.OutlineOf(c, s) }

// measured measures the scene with its budget.
func measured(s scene) sweep.Outcome { return s.Measure(measure.DefaultParams(), true) }
