package sheet

import (
	"iter"
	"reflect"
)

// Field is one value with its place. OK says that it is given and is what its
// rule allows.
type Field[T any] struct {
	Node
	Value T
	OK    bool
}

// The fields of one value.
type (
	Text   = Field[string]
	Int    = Field[int]
	Number = Field[float64]
)

// Or is the value, or another where it isn't OK.
func (f Field[T]) Or(other T) T {
	if f.OK {
		return f.Value
	}
	return other
}

func (f *Field[T]) fill(n Node, r Rule) {
	f.Node = n
	f.OK = r.set(reflect.ValueOf(&f.Value).Elem(), n)
}

func (f *Field[T]) kind() (string, reflect.Type) { return "", reflect.TypeFor[T]() }

// List is several values, read one at a time.
type List[T any] struct {
	Node
	rule Rule
}

// Each reads the items; a single value counts as a list of one.
func (l List[T]) Each() iter.Seq[T] {
	return func(yield func(T) bool) {
		for _, item := range l.List() {
			var x T
			if l.rule.set(reflect.ValueOf(&x).Elem(), item); !yield(x) {
				return
			}
		}
	}
}

func (l *List[T]) fill(n Node, r Rule)          { l.Node, l.rule = n, r }
func (l *List[T]) kind() (string, reflect.Type) { return "array", reflect.TypeFor[T]() }

// Map is values under names of the person's own, read one at a time: their
// owner goes through Entries.
type Map[T any] struct {
	Node
	rule Rule
}

// Keys are the names that the rule has; nil where the map isn't there.
func (m Map[T]) Keys() []string { return m.rule.Keys }

// Read reads the value of an entry.
func (m Map[T]) Read(e Entry) (x T) {
	m.rule.set(reflect.ValueOf(&x).Elem(), e.Value)
	return x
}

func (m *Map[T]) fill(n Node, r Rule)          { m.Node, m.rule = n, r }
func (m *Map[T]) kind() (string, reflect.Type) { return "object", reflect.TypeFor[T]() }
