package problem

import (
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"testing"
)

func TestKindNames(t *testing.T) {
	plain := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	kinds := map[string]Kind{}
	for k := Internal; k <= Cancelled; k++ {
		name, named := kindNames[k]
		if !named {
			t.Errorf("kind %d has no name", k)
		}
		if !plain.MatchString(name) {
			t.Errorf("kind %d is named %q, want lower-case words with hyphens", k, name)
		}
		if other, taken := kinds[name]; taken {
			t.Errorf("kinds %d and %d are both named %q", k, other, name)
		}
		kinds[name] = k
		if k.String() != name {
			t.Errorf("Kind(%d).String() = %q, want %q", k, k.String(), name)
		}
	}
	if len(kindNames) != len(kinds) {
		t.Errorf("%d names for %d kinds", len(kindNames), len(kinds))
	}
	if got := Kind(-1).String(); got != "internal" {
		t.Errorf("an unknown kind is named %q, want internal", got)
	}
}

func TestErrorSaysWhatAndRemedy(t *testing.T) {
	err := Newf(TooFewMarks, "keep the whole card in the picture", "only %d of %d card marks can be seen", 9, 130)
	if got, want := err.Error(), "only 9 of 130 card marks can be seen: keep the whole card in the picture"; got != want {
		t.Errorf("Error() = %q, want %q", got, want)
	}
	if got, want := New(Internal, "something broke", "").Error(), "something broke"; got != want {
		t.Errorf("Error() without a remedy = %q, want %q", got, want)
	}
}

func TestKindAndCauseSurviveWrapping(t *testing.T) {
	err := fmt.Errorf("reading: %w", New(FileAccess, "no such photo", "check the name").Because(fs.ErrNotExist))
	if got := KindOf(err); got != FileAccess {
		t.Errorf("KindOf = %v, want %v", got, FileAccess)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		t.Error("the cause is lost")
	}
	if got := KindOf(errors.New("plain")); got != Internal {
		t.Errorf("KindOf a plain error = %v, want %v", got, Internal)
	}
	if got := KindOf(nil); got != Internal {
		t.Errorf("KindOf(nil) = %v, want %v", got, Internal)
	}
	// The outermost failure decides.
	outer := New(PoorFit, "poor fit", "").Because(New(NoCard, "no card", ""))
	if got := KindOf(outer); got != PoorFit {
		t.Errorf("KindOf nested = %v, want %v", got, PoorFit)
	}
}
