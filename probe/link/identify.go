package link

import (
	"context"
	"errors"
	"strings"
)

// Categories of device identification and the objects of the basic one
// (MODBUS Application Protocol V1.1b3, 6.21).
const (
	basic   = 1
	regular = 2

	vendorName  = 0x00
	productCode = 0x01
	revision    = 0x02

	// maxContinued bounds the requests for one category: each but the last
	// carries one object of 256 at least, and meters have a handful.
	maxContinued = 32
)

// Identify asks unit who it is, by function 43/14: the basic objects, and the
// regular ones where the meter says that it has them. Each is asked for once:
// a meter that doesn't know the function may answer with silence, and that is
// ErrNoIdentity, not a dead meter. Ask for registers first.
func (a *asker) Identify(ctx context.Context, unit byte) (Identity, error) {
	id := Identity{Objects: map[byte]string{}}
	conformity, err := a.collect(ctx, unit, id.collector(basic))
	if err == nil && conformity&^0x80 >= regular { // the top bit adds access to single objects
		// What was told so far stands when the rest is refused.
		_, _ = a.collect(ctx, unit, id.collector(regular))
	}
	if err != nil {
		return Identity{}, &Error{Op: "identify", Place: a.place, over: a.over, Unit: unit, Err: noIdentity(err)}
	}
	id.Vendor, id.Product, id.Revision = id.Objects[vendorName], id.Objects[productCode], id.Objects[revision]
	return id, nil
}

func noIdentity(err error) error {
	var refused Exception
	if errors.As(err, new(NoAnswer)) || errors.As(err, &refused) && refused <= IllegalDataValue {
		return ErrNoIdentity
	}
	return err
}

// collector gathers the objects of one category.
type collector struct {
	category byte
	objects  map[byte]string
}

func (id Identity) collector(category byte) collector { return collector{category, id.Objects} }

// collect follows the continuations of one category and gives the conformity
// level. A meter that points backwards would never end; there it stops.
func (a *asker) collect(ctx context.Context, unit byte, c collector) (conformity byte, err error) {
	object := byte(0)
	for range maxContinued {
		answer, err := a.askOnce(ctx, unit, identifyPDU(c.category, object))
		if err != nil {
			return conformity, err
		}
		conformity = answer.Data[2]
		eachObject(answer.Data, func(number byte, value []byte) { c.objects[number] = printable(value) })
		more, next := answer.Data[3] != 0, answer.Data[4]
		if !more || next <= object {
			break
		}
		object = next
	}
	return conformity, nil
}

// identityHead is MEI type, category, conformity, more follows, next object,
// number of objects. That number is not relied on: the standard's own example
// has it wrong.
const identityHead = 6

func checkIdentity(data []byte) error {
	if len(data) < identityHead || data[0] != deviceID {
		return badAnswer(data, "the answer is not a device identification")
	}
	if !eachObject(data, func(byte, []byte) {}) {
		return badAnswer(data, "an object of the device identification is cut short")
	}
	return nil
}

// eachObject gives f each object by its length byte and reports whether they
// fill data exactly.
func eachObject(data []byte, f func(number byte, value []byte)) bool {
	rest := data[identityHead:]
	for len(rest) >= 2 {
		number, size := rest[0], int(rest[1])
		if len(rest) < 2+size {
			return false
		}
		f(number, rest[2:2+size])
		rest = rest[2+size:]
	}
	return len(rest) == 0
}

// printable is an ASCII text of a meter without its padding; a byte that a
// terminal might obey is shown as a question mark.
func printable(raw []byte) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return '?'
		}
		return r
	}, strings.TrimRight(string(raw), "\x00 "))
}
