package archive

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"unicode/utf8"
)

// feed reads a JSON document a value at a time, so that no more of it is in memory than
// one value, and never more than is allowed to that value.
type feed struct {
	*json.Decoder
	source *metered
}

// Allowances in bytes of the file. Text doubles at most when it is quoted, base64 takes
// four thirds.
const (
	allowToken    = 1 << 20
	allowRevision = 64 << 20
	allowContent  = 2*largestPart + 1<<20
)

// Faults of the document itself, as opposed to those of the disk it lies on.
var (
	errTooLong  = errors.New("a part of it is longer than can be")
	errNotText  = errors.New("it is not readable text (UTF-8)")
	errEndsHere = errors.New("it ends too early")
	errForm     = errors.New("it is no exported archive, or something in it was changed")
)

// metered hands out bytes up to a place that is moved on as values are read.
type metered struct {
	ctx           context.Context
	r             io.Reader
	read, allowed int64
	err           error // of the disk
	said          func(read int64)
}

func (m *metered) Read(p []byte) (int, error) {
	if err := m.ctx.Err(); err != nil {
		m.err = err
		return 0, err
	}
	if m.read >= m.allowed {
		return 0, errTooLong
	}
	n, err := m.r.Read(p[:min(int64(len(p)), m.allowed-m.read)])
	m.read += int64(n)
	m.said(m.read)
	if err != nil && !errors.Is(err, io.EOF) {
		m.err = err
	}
	return n, err
}

func newFeed(ctx context.Context, r io.Reader, said func(read int64)) *feed {
	source := &metered{ctx: ctx, r: r, said: said}
	return &feed{json.NewDecoder(source), source}
}

func (f *feed) allow(bytes int64) { f.source.allowed = f.InputOffset() + bytes }

// more reports whether the list or object goes on.
func (f *feed) more() bool {
	f.allow(allowToken)
	return f.More()
}

// expect reads a bracket.
func (f *feed) expect(bracket json.Delim) error {
	f.allow(allowToken)
	token, err := f.Token()
	if err == nil && token != bracket {
		err = errForm
	}
	return f.fault(err)
}

// key reads the name of an object's next member.
func (f *feed) key() (string, error) {
	f.allow(allowToken)
	token, err := f.Token()
	name, isName := token.(string)
	if err == nil && !isName {
		err = errForm
	}
	return name, f.fault(err)
}

// value reads the next value of at most so many bytes.
func (f *feed) value(into any, atMost int64) error {
	f.allow(atMost)
	var raw json.RawMessage
	if err := f.Decode(&raw); err != nil {
		return f.fault(err)
	}
	if !utf8.Valid(raw) { // the decoder would put other letters in its place
		return errNotText
	}
	if json.Unmarshal(raw, into) != nil {
		return errForm
	}
	return nil
}

// pass reads over a value that this version does not know.
func (f *feed) pass() error {
	var raw json.RawMessage
	return f.value(&raw, allowRevision)
}

// list reads a list with one call of item for each of its values.
func (f *feed) list(item func() error) error {
	if err := f.expect('['); err != nil {
		return err
	}
	for f.more() {
		if err := item(); err != nil {
			return err
		}
	}
	return f.expect(']')
}

// object reads an object with one call of member for each of its members.
func (f *feed) object(member func(name string) error) error {
	if err := f.expect('{'); err != nil {
		return err
	}
	for f.more() {
		name, err := f.key()
		if err != nil {
			return err
		}
		if err := member(name); err != nil {
			return err
		}
	}
	return f.expect('}')
}

// end sees that nothing follows.
func (f *feed) end() error {
	f.allow(allowToken)
	if _, err := f.Token(); !errors.Is(err, io.EOF) {
		return f.fault(errForm)
	}
	return nil
}

// fault tells what is wrong with the document from what is wrong with the disk.
func (f *feed) fault(err error) error {
	switch {
	case err == nil:
		return nil
	case f.source.err != nil:
		return f.source.err
	case errors.Is(err, errTooLong) || errors.Is(err, errForm):
		return err
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		return errEndsHere
	}
	return errForm
}
