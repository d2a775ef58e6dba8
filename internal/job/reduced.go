package job

import (
	"image"

	"fairedge/internal/photo"
	"fairedge/internal/render"
)

// reducedPhoto is the photo made smaller for people to look at. It is made beside the
// stages that measure, which seldom keep every processor busy.
type reducedPhoto struct {
	factor int // photo px per px of it
	made   chan struct{}
	img    *image.RGBA
}

func startReducing(p *photo.Photo) *reducedPhoto {
	r := &reducedPhoto{factor: render.Reduction(p.Width, p.Height), made: make(chan struct{})}
	go func() {
		r.img = p.Colour(r.factor)
		close(r.made)
	}()
	return r
}

// picture waits for the picture. It is not to be changed.
func (r *reducedPhoto) picture() *image.RGBA {
	<-r.made
	return r.img
}
