package flags

import (
	"fmt"
	"strconv"
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
	_ = v.Set(first) // what can't be read is refused when a person gives it too
	v.text = first
	return v
}

// Checked is a text that is kept as it is, once read has understood it.
func Checked[T any](read func(string) (T, error)) func(string) (string, error) {
	return func(text string) (string, error) {
		_, err := read(text)
		return text, err
	}
}

// Duration is a time that check allows.
func Duration(into *time.Duration, first time.Duration, check func(time.Duration) error) pflag.Value {
	read := func(text string) (time.Duration, error) {
		d, err := time.ParseDuration(text)
		if err != nil {
			return 0, Refused{What: fmt.Sprintf("%q is not a time", text), Mend: "write it such as 500ms, 2s or 1m30s"}
		}
		return d, check(d)
	}
	return number(into, first, &value[time.Duration]{kind: "duration", read: read, show: time.Duration.String})
}

// Int is a whole number that check allows.
func Int(into *int, first int, check func(int) error) pflag.Value {
	read := func(text string) (int, error) {
		n, err := strconv.Atoi(text)
		if err != nil {
			return 0, Refused{What: fmt.Sprintf("%q is not a whole number", text)}
		}
		return n, check(n)
	}
	return number(into, first, &value[int]{kind: "int", read: read, show: strconv.Itoa})
}

// Float is a number that check allows.
func Float(into *float64, first float64, check func(float64) error) pflag.Value {
	read := func(text string) (float64, error) {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return 0, Refused{What: fmt.Sprintf("%q is not a number", text)}
		}
		return x, check(x)
	}
	show := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	return number(into, first, &value[float64]{kind: "float64", read: read, show: show})
}

// number begins at a first value; help leaves out one of zero.
func number[T comparable](into *T, first T, v *value[T]) pflag.Value {
	v.into, *into = into, first
	if first != *new(T) {
		v.text = v.show(first)
	}
	return v
}
