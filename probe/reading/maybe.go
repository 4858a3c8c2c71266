package reading

import (
	"encoding/json"
	"math"
)

// Maybe is a quantity that may be unknown. Its zero value is unknown.
type Maybe[T ~float64] struct {
	x     T
	known bool
}

// Value is a quantity in the SI unit of its name, or unknown.
type Value = Maybe[float64]

// Known makes a known quantity. A NaN or an infinity is no quantity and stays
// unknown, so that no arithmetic downstream ever meets one.
func Known[T ~float64](x T) Maybe[T] {
	if math.IsNaN(float64(x)) || math.IsInf(float64(x), 0) {
		return Maybe[T]{}
	}
	return Maybe[T]{x: x, known: true}
}

// Get returns the quantity and whether it is known.
func (m Maybe[T]) Get() (T, bool) { return m.x, m.known }

// Known reports whether the quantity is known.
func (m Maybe[T]) Known() bool { return m.known }

// Or returns the quantity, or fallback where it isn't known.
func (m Maybe[T]) Or(fallback T) T {
	if m.known {
		return m.x
	}
	return fallback
}

// Map returns f of a known quantity, and unknown of an unknown one.
func (m Maybe[T]) Map(f func(T) T) Maybe[T] {
	if !m.known {
		return m
	}
	return Known(f(m.x))
}

// IsZero reports that the quantity is unknown, so that encoding/json's
// omitzero leaves it out.
func (m Maybe[T]) IsZero() bool { return !m.known }

// MarshalJSON writes the number, or null where it isn't known.
func (m Maybe[T]) MarshalJSON() ([]byte, error) {
	if !m.known {
		return []byte("null"), nil
	}
	return json.Marshal(float64(m.x))
}

// UnmarshalJSON reads a number; null stays unknown.
func (m *Maybe[T]) UnmarshalJSON(b []byte) error {
	var p *float64
	if err := json.Unmarshal(b, &p); err != nil {
		return err
	}
	*m = Maybe[T]{}
	if p != nil {
		*m = Known(T(*p))
	}
	return nil
}
