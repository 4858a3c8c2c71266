package pulses

import (
	"cmp"
	"fmt"
	"math"
	"time"

	"legwork/diagnose/doubt"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Options say how a count is judged. The zero value is useful.
type Options struct {
	Constant   Constant
	Multiplier float64       // of pulses that count the secondary side; 0 is 1
	Tolerance  float64       // as a share; 0 is DefaultTolerance
	Timing     time.Duration // of the hand, 95 times in 100; 0 is DefaultTiming
}

// DefaultTolerance is the error, as a share, that counts as none: about what
// meter, CTs and a person's count make together. Common practice, no source.
const DefaultTolerance = 0.02

// Result is the outcome of a count. Shares are ratios, not percent.
type Result struct {
	Legwork    int            `json:"legwork"`
	Verdict    wiring.Verdict `json:"verdict"`
	Summary    string         `json:"summary"`
	Count      int            `json:"count"`
	Seconds    float64        `json:"seconds"`
	AtPulses   bool           `json:"at_pulses"`
	WhPerPulse float64        `json:"wh_per_pulse"`
	Multiplier float64        `json:"multiplier"`
	PulseWatts float64        `json:"pulse_watts"`
	Watts      float64        `json:"watts"`
	Samples    int            `json:"samples"` // of the power; 0 where it was stated

	Error     float64 `json:"error"` // the light's power over the other, less 1
	ErrorLow  float64 `json:"error_low"`
	ErrorHigh float64 `json:"error_high"`
	Tolerance float64 `json:"tolerance"`

	// Wanted is how long to count, and how many pulses that is, for an interval
	// as narrow as the tolerance; null where no time is long enough.
	WantedSeconds reading.Value `json:"wanted_seconds"`
	WantedPulses  reading.Value `json:"wanted_pulses"`

	Notes []string `json:"notes"`
}

func (o Options) filled() Options {
	o.Multiplier = cmp.Or(o.Multiplier, 1)
	o.Tolerance = cmp.Or(o.Tolerance, DefaultTolerance)
	o.Timing = cmp.Or(o.Timing, DefaultTiming)
	return o
}

// Compare judges a count against a power, which must not be zero or below it.
func Compare(c Count, p Power, o Options) (Result, error) {
	o = o.filled()
	if err := c.Check(); err != nil {
		return Result{}, err
	}
	if !(p.Watts > 0) {
		return Result{}, fmt.Errorf("a power of %.4g W makes no pulses of imported energy to compare with; put a load on, "+
			"or mend the wiring first", p.Watts)
	}
	perPulse := float64(o.Constant) * o.Multiplier
	r := Result{Legwork: 1, Count: c.N, Seconds: c.Over.Seconds(), AtPulses: c.AtPulses, WhPerPulse: float64(o.Constant),
		Multiplier: o.Multiplier, Watts: p.Watts, Samples: p.From, Tolerance: o.Tolerance, Notes: []string{}}
	// W = pulses x Wh a pulse x 3600 s/h / s
	r.PulseWatts = float64(c.N) * perPulse * 3600 / c.Over.Seconds()
	ratio := r.PulseWatts / p.Watts
	half := halfOf(c, p, o)
	r.Error, r.ErrorLow, r.ErrorHigh = ratio-1, ratio*(1-half)-1, ratio*(1+half)-1
	r.want(p, o)
	r.decide(half)
	r.note(p, o)
	return r, nil
}

// halfOf is half the width of the 95 % interval of the ratio, as a share of it. The ratio
// is n C / (t P), all factors, so that their relative errors add up (JCGM 100:2008, 5.1.6):
// of the count dn/n, of the watch dt/t, of the power dP/P; the constant C has none.
func halfOf(c Count, p Power, o Options) float64 {
	var s doubt.Sum
	c.doubt(&s, o.Timing.Seconds())
	p.doubt(&s)
	return s.Half()
}

// want works out how long to count at this rate, from 1 s to a week: by halving the
// logarithm of the time, to 1 % (our choice), since the half-width falls with it.
func (r *Result) want(p Power, o Options) {
	rate := float64(r.Count) / r.Seconds
	half := func(seconds float64) float64 {
		n := math.Max(1, math.Round(rate*seconds))
		return halfOf(Count{int(n), time.Duration(seconds * float64(time.Second)), r.AtPulses}, p, o)
	}
	low, high := 1.0, longest.Seconds()
	if half(high) > o.Tolerance {
		return
	}
	for high/low > 1.01 {
		if mid := math.Sqrt(low * high); half(mid) > o.Tolerance {
			low = mid
		} else {
			high = mid
		}
	}
	n := math.Ceil(rate * high)
	r.WantedPulses, r.WantedSeconds = reading.Known(n), reading.Known(math.Ceil(n/rate))
}

// decide compares the interval with the tolerance.
func (r *Result) decide(half float64) {
	said := fmt.Sprintf("the light shows %s the power (from %s to %s)", beside(r.Error), beside(r.ErrorLow),
		beside(r.ErrorHigh))
	within := fmt.Sprintf("%g %%", 100*r.Tolerance)
	switch {
	case r.ErrorLow >= -r.Tolerance && r.ErrorHigh <= r.Tolerance:
		r.Verdict, r.Summary = wiring.Agrees, fmt.Sprintf("The pulse light and the power agree within %s: %s.", within, said)
	case r.ErrorLow > r.Tolerance || r.ErrorHigh < -r.Tolerance:
		r.Verdict, r.Summary = wiring.Fault, fmt.Sprintf("The pulse light and the power differ by more than %s: %s%s.",
			within, said, r.factor(half))
	default:
		r.Verdict, r.Summary = wiring.Undecided, fmt.Sprintf("Not settled: %s, and %s is asked for; %s.", said, within,
			r.longer())
	}
}

// longer says how long to count.
func (r *Result) longer() string {
	seconds, ok := r.WantedSeconds.Get()
	switch {
	case !ok:
		return "no count is long enough while the power is known no better; sample it during the count, or wait for a " +
			"steady load"
	case seconds <= 1.02*r.Seconds:
		return "the error is near the tolerance itself; count longer, or judge by the interval"
	}
	return fmt.Sprintf("count %.0f pulses or %s", r.WantedPulses.Or(0), time.Duration(seconds)*time.Second)
}

// beside says an error in words.
func beside(share float64) string {
	if share < 0 {
		return fmt.Sprintf("%.2f %% below", -100*share)
	}
	return fmt.Sprintf("%.2f %% above", 100*share)
}

// multipliers are ratios of usual CTs to 5 A and 1 A (their primaries: IEC
// 61869-2, 5.201, and common practice in North America).
var multipliers = [...]float64{2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 40, 50, 60, 80, 100, 120, 150, 160, 200,
	240, 250, 300, 320, 400, 500, 600, 750, 800, 1000}

// factor says when a ratio is that of usual CTs, or one over it: a multiplier
// that is missing or counted twice.
func (r *Result) factor(half float64) string {
	ratio := r.PulseWatts / r.Watts
	for _, m := range multipliers {
		if math.Abs(math.Log(math.Max(ratio, 1/ratio)/m)) <= math.Max(half, 0.02) {
			return fmt.Sprintf("; it is about a factor of %g: is the multiplier of CTs (--multiplier) missing, or counted "+
				"twice?", m)
		}
	}
	return ""
}

func (r *Result) note(p Power, o Options) {
	r.Notes = append(r.Notes, fmt.Sprintf("the hand at the watch is taken as right within %s, start and stop together "+
		"(--timing)", o.Timing))
	if !r.AtPulses {
		r.Notes = append(r.Notes, "the count began and ended between pulses, so up to one pulse may be missing or too "+
			"many; a watch started and stopped at pulses leaves none open (--from pulse)")
	}
	switch {
	case p.From == 0:
		r.Notes = append(r.Notes, fmt.Sprintf("the power is taken as right within %.3g %%, 95 times in 100; nothing "+
			"measured that", 196*p.Deviation))
	default:
		r.Notes = append(r.Notes, fmt.Sprintf("how steady the power was comes from %d samples: right within %.3g %% for "+
			"the count", p.From, 100*p.Deviation*doubt.Student(p.freedom)))
	}
}
