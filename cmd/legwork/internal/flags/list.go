package flags

import (
	"strings"

	"github.com/spf13/pflag"
)

// List is what a flag holds that may be repeated: the values, and the texts that
// they were read from.
type List[T any] struct {
	Values []T
	Texts  []string
}

// Add reads one more text.
func (l *List[T]) Add(text string, read func(string) (T, error)) error {
	x, err := read(text)
	if err == nil {
		l.Values, l.Texts = append(l.Values, x), append(l.Texts, text)
	}
	return err
}

// Each is a flag that may be repeated, each time with a text for read.
func Each[T any](into *List[T], read func(string) (T, error)) pflag.Value {
	return &list[T]{into, read}
}

// list is a pflag.SliceValue too.
type list[T any] struct {
	*List[T]
	read func(string) (T, error)
}

func (l *list[T]) Set(text string) error    { return refuse(l.Add(text, l.read)) }
func (l *list[T]) Append(text string) error { return l.Set(text) }
func (l *list[T]) Type() string             { return "stringArray" }
func (l *list[T]) String() string           { return strings.Join(l.Texts, ", ") }
func (l *list[T]) GetSlice() []string       { return l.Texts }

// Replace puts texts in place of those that were given.
func (l *list[T]) Replace(texts []string) error {
	*l.List = List[T]{}
	for _, text := range texts {
		if err := l.Set(text); err != nil {
			return err
		}
	}
	return nil
}
