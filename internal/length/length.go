// Package length gives distances a unit, and reads and prints them the way a
// workshop says them: millimetres, or inches in sixteenths.
package length

import "math"

// Length is a distance. Enter with a unit (19.05 * length.Millimetre), leave by
// a method (l.Millimetres()); there is no bare number in between.
type Length float64

// The unit is the millimetre inside; an inch is exactly 25.4 mm (international
// inch, 1959; ISO 31-1).
const (
	Millimetre Length = 1
	Centimetre        = 10 * Millimetre
	Metre             = 1000 * Millimetre
	Inch              = 25.4 * Millimetre
	Foot              = 12 * Inch
	Yard              = 36 * Inch
)

// Millimetres returns the length as a plain number of millimetres.
func (l Length) Millimetres() float64 { return float64(l) }

// Inches returns the length as a plain number of inches.
func (l Length) Inches() float64 { return float64(l / Inch) }

// Points returns the length in the unit of PDF user space: 1/72 inch
// (ISO 32000-1, 8.3.2.3).
func (l Length) Points() float64 { return l.Inches() * 72 }

// Abs returns the length without its sign.
func (l Length) Abs() Length { return Length(math.Abs(float64(l))) }
