package flags

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"
)

// FromZero allows what isn't below zero.
func FromZero[T cmp.Ordered](x T) error {
	if x < *new(T) {
		return Refused{What: fmt.Sprintf("%v is below zero", x)}
	}
	return nil
}

// AboveZero allows what is above zero.
func AboveZero[T cmp.Ordered](x T) error {
	if !(x > *new(T)) {
		return Refused{What: fmt.Sprintf("%v is not above zero", x)}
	}
	return nil
}

// Count allows a number of things to take; 0 leaves it open.
func Count(n int) error {
	if n < 0 {
		return Refused{What: fmt.Sprintf("%d: take at least 1", n)}
	}
	return nil
}

// Word is one of some words, the first where none is given.
func Word(into *string, words ...string) pflag.Value {
	return Text(into, words[0], func(text string) (string, error) {
		if !slices.Contains(words, text) {
			last := len(words) - 1
			return "", Refused{What: fmt.Sprintf("%q is not %s or %s", text, strings.Join(words[:last], ", "), words[last])}
		}
		return text, nil
	})
}
