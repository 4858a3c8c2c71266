package energy

import (
	"fmt"
	"math"
	"strings"

	"legwork/diagnose/doubt"
)

// ctClass is what CTs of a class may be off by, at 5, 20 and 100 % of their
// rated current.
type ctClass struct {
	name    string
	ratio   [3]float64 // percent
	minutes [3]float64 // of phase displacement
}

// ctClasses: IEC 61869-2, Tables 201 and 202, as two independent trade tables
// give them. The S classes hold the same from 5 % up as is given here for 5, 20
// and 100 %.
func ctClasses() []ctClass {
	return []ctClass{
		{"0.1", [3]float64{.4, .2, .1}, [3]float64{15, 8, 5}},
		{"0.2", [3]float64{.75, .35, .2}, [3]float64{30, 15, 10}},
		{"0.2S", [3]float64{.35, .2, .2}, [3]float64{15, 10, 10}},
		{"0.5", [3]float64{1.5, .75, .5}, [3]float64{90, 45, 30}},
		{"0.5S", [3]float64{.75, .5, .5}, [3]float64{45, 30, 30}},
		{"1", [3]float64{3, 1.5, 1}, [3]float64{180, 90, 60}},
	}
}

// CTs say what is known of the CTs. The zero value: class 1 or better, and no
// rating.
type CTs struct {
	class   ctClass
	Primary float64 // A, rated; 0 where it isn't known
}

// ParseClass reads the class on a CT's plate; the empty text is one that isn't known.
func ParseClass(text string) (CTs, error) {
	if text == "" {
		return CTs{}, nil
	}
	var names []string
	for _, c := range ctClasses() {
		if c.name == strings.ToUpper(strings.TrimSpace(text)) {
			return CTs{class: c}, nil
		}
		names = append(names, c.name)
	}
	return CTs{}, fmt.Errorf("%q is no class of CTs; there are %s", text, strings.Join(names, ", "))
}

// String names the class.
func (c CTs) String() string {
	if c.class.name == "" {
		return "class 1 or better"
	}
	return "class " + c.class.name
}

// What CTs of an unknown class are off by, one standard deviation: the mean of
// classes 0.2, 0.5 and 1, as frequent as one another (an assumption of ours),
// with errors evenly spread within the limits.
const (
	unknownSize  = 0.0058
	unknownAngle = 0.6 // degrees
)

// usualShare of the rated current, where the rating isn't known: common practice, no source.
const usualShare = 0.3

// add puts the errors of one CT into a sum: z is its complex power over the whole
// actual power, amps flow through it. An error of ratio e and of angle d (radians)
// makes of z about z (1 + e - j d), so the active part is off by
// Re(z) e + Im(z) d.
func (c CTs) add(s *doubt.Sum, z complex128, amps float64) {
	if c.class.name == "" {
		s.Normal(real(z) * unknownSize)
		s.Normal(imag(z) * unknownAngle * math.Pi / 180)
		return
	}
	share := usualShare
	if c.Primary > 0 && amps > 0 {
		share = amps / c.Primary
	}
	s.Even(math.Abs(real(z)) * along(c.class.ratio, share) / 100)
	s.Even(math.Abs(imag(z)) * along(c.class.minutes, share) / 60 * math.Pi / 180)
}

// along gives a limit at a share of the rated current: between the table's
// columns it goes with the logarithm of the current, beyond them it stays.
func along(limit [3]float64, share float64) float64 {
	at := [3]float64{0.05, 0.2, 1}
	i := 1
	if share > at[1] {
		i = 2
	}
	// limit = a + t (b - a), t = ln(I/I_a) / ln(I_b/I_a), held to 0..1
	t := math.Log(share/at[i-1]) / math.Log(at[i]/at[i-1])
	return limit[i-1] + min(max(t, 0), 1)*(limit[i]-limit[i-1])
}
