package sheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// Text gives a text or a number as it stands; ok is false where it isn't there
// or is something else, which is a fault.
func (n Node) Text() (s string, ok bool) {
	switch v := n.node.(type) {
	case nil:
		return "", false
	case *ast.StringNode:
		return v.Value, true
	case *ast.LiteralNode:
		return v.Value.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return v.GetToken().Value, true
	}
	n.Fault("this is "+n.kind(), "write a text")
	return "", false
}

// OneOf gives a text that must be one of a few.
func (n Node) OneOf(allowed ...string) (s string, ok bool) {
	s, ok = n.Text()
	if !ok || slices.Contains(allowed, s) {
		return s, ok
	}
	n.Fault(fmt.Sprintf("%q is not one of %s", s, strings.Join(allowed, ", ")), DidYouMean(s, allowed))
	return "", false
}

// Int gives a whole number within bounds. It must be written plainly: 010 would
// be 8 to YAML, and 40_001 is refused too.
func (n Node) Int(low, high int) (x int, ok bool) {
	return n.whole(low, high, span(float64(low), float64(high)))
}

// span says what bounds allow.
func span(low, high float64) string {
	switch above, below := low > math.MinInt32, high < math.MaxInt32; {
	case above && below:
		return fmt.Sprintf("from %.15g to %.15g", low, high)
	case above:
		return fmt.Sprintf("from %.15g up", low)
	}
	return fmt.Sprintf("up to %.15g", high)
}

// whole is Int, with what would be right beyond the bounds.
func (n Node) whole(low, high int, mend string) (x int, ok bool) {
	raw, ok := n.plain("a whole number")
	if !ok {
		return 0, false
	}
	v, err := strconv.ParseInt(raw, 0, 64)
	if strings.ContainsRune(raw, '_') || octal(raw) || err != nil {
		n.Fault(fmt.Sprintf("%q is not a plain whole number", raw), "write it in decimal, or in hexadecimal after 0x")
		return 0, false
	}
	if v < int64(low) || v > int64(high) {
		n.Fault(fmt.Sprintf("%s is out of range", raw), mend)
		return 0, false
	}
	return int(v), true
}

func octal(raw string) bool {
	digits := strings.TrimLeft(raw, "+-")
	return len(digits) > 1 && digits[0] == '0' && digits[1] != 'x' && digits[1] != 'X'
}

// Float gives a finite number.
func (n Node) Float() (x float64, ok bool) {
	raw, ok := n.plain("a number")
	if !ok {
		return 0, false
	}
	x, err := strconv.ParseFloat(raw, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) || strings.ContainsRune(raw, '_') {
		n.Fault(fmt.Sprintf("%q is not a number", raw), "write one such as 0.001 or 1e-3")
		return 0, false
	}
	return x, true
}

// Within gives a finite number within bounds.
func (n Node) Within(low, high float64) (x float64, ok bool) {
	x, ok = n.Float()
	if ok && (x < low || x > high) {
		n.Fault(fmt.Sprintf("%g is out of range", x), span(low, high))
		return 0, false
	}
	return x, ok
}

// Bool gives true or false.
func (n Node) Bool() (x, ok bool) {
	if n.node == nil {
		return false, false
	}
	if b, isBool := n.node.(*ast.BoolNode); isBool {
		return b.Value, true
	}
	n.Fault("this is "+n.kind(), "write true or false")
	return false, false
}

// exponent is a number with an exponent and without a point.
var exponent = regexp.MustCompile(`^[-+]?[0-9]+[eE][-+]?[0-9]+$`)

// plain is the token of a number as it was written.
func (n Node) plain(want string) (string, bool) {
	switch v := n.node.(type) {
	case nil:
		return "", false
	case *ast.IntegerNode, *ast.FloatNode:
		return v.GetToken().Value, true
	case *ast.InfinityNode, *ast.NanNode:
		n.Fault(v.GetToken().Value+" can't be counted with", "write "+want+", or leave the line out")
		return "", false
	case *ast.StringNode:
		if v.GetToken().Type == token.StringType && exponent.MatchString(v.Value) {
			return v.Value, true // YAML 1.2, 10.3.2 has numbers so; the library takes them for texts
		}
		n.Fault(fmt.Sprintf("%q is not %s", v.Value, want), "write it without quotes or unit")
		return "", false
	}
	n.Fault("this is "+n.kind(), "write "+want)
	return "", false
}
