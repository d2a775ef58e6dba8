// Package render writes sheets to files and draws pictures for people. It is the
// only package that knows github.com/tdewolff/canvas.
//
// PDF is written by canvas and then settled (see settle.go): canvas stamps the time
// of day into the document and, compressed, into its fonts, so that no two files
// are alike; settling takes the stamps out and leaves everything else.
//
// SVG is written here, not by canvas, because canvas's writer has no ids (the two
// outlines are found by theirs), embeds whole fonts (200 kB), and drops write
// errors. What a sheet needs of SVG is little: paths, text, a size.
//
// Pictures (CheckPicture, DebugPicture) are drawn with golang.org/x/image in photo
// pixels.
//
// Every writer takes an io.Writer and reports its errors; same input, same bytes.
package render
