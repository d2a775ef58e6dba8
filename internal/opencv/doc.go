// Package opencv is the only package that touches gocv: plain Go slices go in
// and come out, no Mat leaves it. OpenCV puts pixel centres at whole numbers;
// functions that return places add the half pixel before they do.
package opencv
