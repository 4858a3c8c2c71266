package flags

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"
)

// value is a value that read makes of a text.
type value[T any] struct {
	into     *T
	kind     string // of the value, as help names it
	text     string // as it was given, or as show writes it
	optional bool   // an empty text stands for none
	read     func(string) (T, error)
	show     func(T) string // nil leaves the text as it was given
}

// Set reads a text. With an error the value stays as it was.
func (v *value[T]) Set(text string) error {
	if text == "" && v.optional {
		*v.into, v.text = *new(T), ""
		return nil
	}
	x, err := v.read(text)
	if err != nil {
		return refuse(err)
	}
	*v.into, v.text = x, text
	if v.show != nil {
		v.text = v.show(x)
	}
	return nil
}

// String is the text.
func (v *value[T]) String() string { return v.text }

// Type is what help calls the value.
func (v *value[T]) Type() string { return v.kind }

// Text is a flag whose text read makes a value of. Without a first text it may
// be empty, which leaves the zero value.
func Text[T any](into *T, first string, read func(string) (T, error)) pflag.Value {
	v := &value[T]{into: into, kind: "string", optional: first == "", read: read}
	_ = v.Set(first) // a first text that can't be read is refused when a person gives it too
	v.text = first
	return v
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

// Duration is a time that check allows.
func Duration(into *time.Duration, first time.Duration, check func(time.Duration) error) pflag.Value {
	n := number[time.Duration]{"duration", "a time", time.ParseDuration, time.Duration.String, check}
	return n.value(into, first)
}

// Int is a whole number that check allows.
func Int(into *int, first int, check func(int) error) pflag.Value {
	return number[int]{"int", "a whole number", strconv.Atoi, strconv.Itoa, check}.value(into, first)
}

// Float is a number that check allows.
func Float(into *float64, first float64, check func(float64) error) pflag.Value {
	parse := func(text string) (float64, error) { return strconv.ParseFloat(text, 64) }
	show := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	return number[float64]{"float64", "a number", parse, show, check}.value(into, first)
}

// number is how a sort of numbers is read and written.
type number[T comparable] struct {
	kind, what string
	parse      func(string) (T, error)
	show       func(T) string
	check      func(T) error
}

// value begins at a first number; help leaves out one of zero.
func (n number[T]) value(into *T, first T) pflag.Value {
	v := &value[T]{into: into, kind: n.kind, show: n.show, read: func(text string) (T, error) {
		x, err := n.parse(text)
		if err != nil {
			return x, Refused{What: fmt.Sprintf("%q is not %s", text, n.what)}
		}
		return x, n.check(x)
	}}
	if *into = first; first != *new(T) {
		v.text = n.show(first)
	}
	return v
}

// FromZero allows what isn't below zero.
func FromZero[T cmp.Ordered](x T) error {
	return Unless(x < *new(T), "%v is below zero", x)
}

// Above allows what is above zero and at most so much; wanted is what that is called.
func Above[T cmp.Ordered](most T, wanted string) func(T) error {
	return func(x T) error { return Unless(!(x > *new(T)) || x > most, "%v is not %s", x, wanted) }
}

// Unless refuses a value that is wrong, and says why.
func Unless(wrong bool, format string, args ...any) error {
	if !wrong {
		return nil
	}
	return Refused{What: fmt.Sprintf(format, args...)}
}
