package shapefile

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// bytes returns the form as JSON, each field of its own line, and each entry of a list.
func (f form) bytes() ([]byte, error) {
	compact, err := json.Marshal(f)
	if err != nil {
		return nil, fmt.Errorf("writing the shape: %w", err)
	}
	return layOut(compact), nil
}

// layOut breaks compact JSON into lines at the two outer levels only, so that a person
// sees one piece of the outline a line.
func layOut(compact []byte) []byte {
	var out bytes.Buffer
	depth, inText, escaped := 0, false, false
	var lists [3]bool // at the outer levels: the value is a list
	newline := func(d int) {
		out.WriteByte('\n')
		out.Write(bytes.Repeat([]byte{' '}, d))
	}
	broken := func() bool { return depth == 1 || depth == 2 && lists[2] }
	for i, c := range compact {
		switch {
		case inText:
			inText, escaped = escaped || c != '"', c == '\\' && !escaped
			out.WriteByte(c)
		case c == '"':
			inText = true
			out.WriteByte(c)
		case c == '{' || c == '[':
			out.WriteByte(c)
			if depth++; depth < len(lists) {
				lists[depth] = c == '['
			}
			if broken() && compact[i+1] != c+2 { // '{'+2 is '}', '['+2 is ']'
				newline(depth)
			}
		case c == '}' || c == ']':
			if broken() && compact[i-1] != c-2 {
				newline(depth - 1)
			}
			depth--
			out.WriteByte(c)
		case c == ',' && broken():
			out.WriteByte(c)
			newline(depth)
		case c == ':':
			out.WriteString(": ")
		default:
			out.WriteByte(c)
		}
	}
	out.WriteByte('\n')
	return out.Bytes()
}
