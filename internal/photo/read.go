package photo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"fairedge/internal/problem"
)

// Read reads the picture file at path. Errors are *problem.Error. When ctx ends
// the reading stops (a HEIC's only before and after its decoding, which takes
// some seconds).
func Read(ctx context.Context, path string, limits Limits) (*Photo, error) {
	limits = limits.withDefaults()
	data, err := load(path, limits.MaxFileBytes)
	if err != nil {
		return nil, err
	}
	return decode(ctx, data, limits)
}

// Decode reads a picture from the whole contents of its file. Errors are
// *problem.Error.
func Decode(data []byte, limits Limits) (*Photo, error) {
	return decode(context.Background(), data, limits.withDefaults())
}

// load reads a file of at most limit bytes.
func load(path string, limit int64) ([]byte, error) {
	// Asked before opening, because opening a pipe waits for its other end.
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, problem.Newf(problem.FileAccess, "check the name", "there is no file %s", path).Because(err)
	case err != nil:
		return nil, unreadable(path, err)
	case info.IsDir():
		return nil, problem.Newf(problem.FileAccess, "name a photo inside it", "%s is a folder", path)
	case !info.Mode().IsRegular():
		return nil, problem.Newf(problem.FileAccess, "name a photo", "%s is not an ordinary file", path)
	case info.Size() > limit:
		return nil, problem.Newf(problem.ImageTooLarge, "name a photo, not a film or an archive",
			"%s is %d megabytes long, and the limit is %d", path, info.Size()>>20, limit>>20)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, unreadable(path, err)
	}
	defer file.Close()
	// A growing file stays within the limit too.
	data := make([]byte, 0, info.Size()+1)
	buffer := bytes.NewBuffer(data)
	if _, err := io.Copy(buffer, io.LimitReader(file, limit)); err != nil {
		return nil, unreadable(path, err)
	}
	return buffer.Bytes(), nil
}

func unreadable(path string, err error) error {
	return problem.Newf(problem.FileAccess, "check that it may be read", "%s cannot be read", path).Because(err)
}

func decode(ctx context.Context, data []byte, limits Limits) (*Photo, error) {
	if ctx.Err() != nil {
		return nil, cancelled(ctx)
	}
	switch found := formatOf(data); found {
	case formatJPEG:
		return decodeJPEG(ctx, data, limits)
	case formatPNG:
		return decodePNG(ctx, data, limits)
	case formatHEIC:
		return decodeHEIC(ctx, data, limits)
	case formatUnknown:
		what := "this is not a picture"
		if len(data) == 0 {
			what = "the file is empty"
		}
		return nil, problem.New(problem.NotAPicture, what, "name a photo in JPEG, HEIC or PNG")
	default:
		return nil, problem.Newf(problem.UnsupportedImage, "save it as JPEG or PNG",
			"the picture is in %s, which is not read here", found)
	}
}

func damaged(cause error) error {
	return problem.New(problem.DamagedImage, "the photo is damaged or only a part of it is there",
		"copy it from the phone again").Because(cause)
}

func damagedf(format string, args ...any) error { return damaged(fmt.Errorf(format, args...)) }

func cancelled(ctx context.Context) error {
	return problem.New(problem.Cancelled, "reading the photo was stopped", "").Because(ctx.Err())
}

func errNoMemory() error {
	return problem.New(problem.ImageTooLarge, "there is not enough memory for the photo", "close other programs")
}
