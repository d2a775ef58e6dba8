package pad_test

import (
	"fmt"
	"testing"

	"fairedge/internal/pad"
)

func TestSmoke(t *testing.T) {
	seats := []struct{ n string; s func() }{}
	_ = seats
	for _, r := range pad.BuiltIn() {
		for name, o := range map[string]interface{ Len() int }{"bow": bowFront(), "circle": circleOf(190), "horse": horseshoe(), "notch": notched(430, 400, 45), "saddle": saddle(), "round": rounded(430, 410, 38, 100)} {
			_ = o
			_ = name
		}
		p, err := pad.Cut(seatOf(t, bowFront()), r)
		if err != nil {
			t.Error(r.Name, err)
			continue
		}
		fmt.Println("==", r.Name, p.SeamLength, p.CutOutside, p.Opening, p.Zip, p.Piping)
		for _, s := range p.Strips {
			fmt.Println("  strip", s.Name, s.Count, s.Width, s.Length, s.From, s.To, len(s.Marks))
		}
		for _, q := range p.Pieces {
			w, d := q.Sizes()
			fmt.Println("  piece", q.Name, w, d, len(q.Marks))
		}
		for _, q := range p.Questions {
			fmt.Println("  ?", q)
		}
		for _, q := range p.Order {
			fmt.Println("  -", q)
		}
	}
}
