package screen

import (
	"bytes"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/require"

	"legwork/diagnose/clamp"
	"legwork/diagnose/energy"
	"legwork/diagnose/ledger"
	"legwork/diagnose/pulses"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// bench are results of the comparing commands, by name.
func bench(t *testing.T) map[string]func(io.Writer, Style) error {
	reads, err := clamp.ParseReads([]string{"leg 1: 10.1 A", "leg 2: 24.2 A", "leg 3: 14.1 A", "leg 1: 120.4 V"})
	require.NoError(t, err)
	compared := clamp.Compare([]reading.Reading{kiln(true, 20, 25, 30), kiln(true, 20, 25, 30)}, reads,
		clamp.Options{Set: clamp.Rating{Primary: 200, Secondary: 5}})
	counted, err := pulses.Compare(pulses.Count{N: 100, Over: 100 * time.Second}, pulses.Stated(3700, 0.01),
		pulses.Options{Constant: 1})
	require.NoError(t, err)
	l, err := ledger.ParseYAML("reads.yaml", []byte(`legwork-ledger: 1
meter: Tidewater kiln house
multiplier: 40
digits: 5
reads:
  - {at: 2026-05-04T09:30:00Z, kWh: 99 990.5, kWh.1: 100.1, kWh.2: 200, kVAh: 5000}
  - {at: 2026-05-05T09:30:00Z, kWh: 20.4, kWh.1: 110.0, kWh.2: 210, kVAh: 4000}
  - {at: 2026-05-05T09:30:00Z, kWh: 3.0, replaced: true, multiplier: 60}
  - {at: 2026-05-06T09:30:00Z, kWh: 12.0}
`))
	require.NoError(t, err)
	judged := l.Judge(nil)
	service, err := wiring.ParseService("230/400Y")
	require.NoError(t, err)
	a, err := energy.ParseAssumedFault(service, "ct 2 reversed")
	require.NoError(t, err)
	g := a.Registration(energy.Load{Lag: [2]float64{10, 40}, Unbalance: 0.2, Sequence: wiring.Forward})
	period := energy.Period{Name: "peak", Registered: 8e9, Price: 0.6}
	estimate, err := energy.Estimate(energy.Question{Registered: 8e9, Registration: &g, Basis: energy.FromAssumed,
		Words: "ct 2 reversed", Conditions: "a range of loads", Periods: []energy.Period{period}})
	require.NoError(t, err)
	none, err := energy.Estimate(energy.Question{Registered: 8e7, Unknown: "the wiring isn't settled",
		Conditions: "as measured"})
	require.NoError(t, err)
	return map[string]func(io.Writer, Style) error{
		"clamp":       func(w io.Writer, s Style) error { return Clamp(w, compared, s) },
		"pulses":      func(w io.Writer, s Style) error { return Pulses(w, counted, s) },
		"ledger":      func(w io.Writer, s Style) error { return Ledger(w, judged, s) },
		"energy":      func(w io.Writer, s Style) error { return Energy(w, estimate, s) },
		"energy-none": func(w io.Writer, s Style) error { return Energy(w, none, s) },
	}
}

func TestComparingScreens(t *testing.T) {
	for name, show := range bench(t) {
		for suffix, style := range map[string]Style{"": {}, "-ascii": {ASCII: true}} {
			t.Run(name+suffix, func(t *testing.T) {
				var b bytes.Buffer
				require.NoError(t, show(&b, style))
				golden(t, name+suffix, b.Bytes())
				for line := range strings.Lines(b.String()) {
					require.LessOrEqual(t, ansi.StringWidth(strings.TrimRight(line, "\n")), 80, line)
					if style.ASCII {
						require.Equal(t, len(line), len([]rune(line)), "%q has more than ASCII", line)
					}
				}
			})
		}
		require.ErrorIs(t, show(broken{}, Style{}), os.ErrClosed, name)
	}
	require.Equal(t, "0.123457", KWh(123.456789))
}
