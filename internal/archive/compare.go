package archive

import (
	"fmt"
	"math"
	"strings"
)

// Difference is one thing in which two revisions differ.
type Difference struct {
	What   string `json:"what"`   // "customer", "width", a part's name, ...
	Before string `json:"before"` // empty: nothing there
	After  string `json:"after"`
}

// Differences lists in what the second revision differs from the first: words, sets,
// sizes (with their change in mm), and parts. Nothing in common order but the order of
// the fields is meant.
func Differences(before, after Revision) []Difference {
	var all []Difference
	add := func(what, one, other string) {
		if one != other {
			all = append(all, Difference{what, one, other})
		}
	}
	add("title", before.Title, after.Title)
	add("customer", before.Customer, after.Customer)
	add("contact", before.Contact, after.Contact)
	add("place", before.Place, after.Place)
	add("chair", before.Chair, after.Chair)
	add("set", setText(before), setText(after))
	add("date", before.MadeOn, after.MadeOn)
	for _, s := range []struct {
		what       string
		one, other *float64
	}{
		{"width", before.Width, after.Width}, {"depth", before.Depth, after.Depth}, {"around", before.Perimeter, after.Perimeter},
		{"within", before.Within, after.Within},
	} {
		add(s.what, mmText(s.one), mmText(s.other))
	}
	return append(all, partDifferences(before, after)...)
}

func setText(r Revision) string {
	switch {
	case r.SetOf == 0 && r.Which == 0:
		return ""
	case r.SetOf == 0:
		return fmt.Sprintf("number %d", r.Which)
	case r.Which == 0:
		return fmt.Sprintf("set of %d", r.SetOf)
	}
	return fmt.Sprintf("%d of %d", r.Which, r.SetOf)
}

// SetText says which chair of a set it is: "2 of 4"; empty when not said.
func (r Revision) SetText() string { return setText(r) }

func mmText(size *float64) string {
	if size == nil {
		return ""
	}
	return fmt.Sprintf("%.1f mm", math.Round(*size*10)/10)
}

// partDifferences compares parts by role and name; their bytes by SHA-256.
func partDifferences(before, after Revision) []Difference {
	var all []Difference
	for _, p := range before.Parts {
		q, there := after.Part(p.Role, p.Name)
		switch {
		case !there:
			all = append(all, Difference{p.Name, sizeText(p), ""})
		case q.SHA256 != p.SHA256:
			all = append(all, Difference{p.Name, sizeText(p), sizeText(q)})
		}
	}
	for _, q := range after.Parts {
		if _, there := before.Part(q.Role, q.Name); !there {
			all = append(all, Difference{q.Name, "", sizeText(q)})
		}
	}
	return all
}

// sizeText tells versions of a file apart: its length and the beginning of its hash.
func sizeText(p PartInfo) string {
	return fmt.Sprintf("%d bytes (%s)", p.Length, strings.ToUpper(p.Hash()[:6]))
}
