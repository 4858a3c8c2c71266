package diagnose_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// A meter that is exchanged while it is watched, or whose ratio is set anew, brings nothing
// of what was read before: neither its fault nor its currents.
func TestAnotherMeterOrRatioBeginsAnew(t *testing.T) {
	for name, one := range map[string]struct {
		change func(i int, r *reading.Reading)
		note   string
	}{
		"another meter": {func(i int, r *reading.Reading) {
			if r.Serial = "K-1"; i > 4 {
				r.Serial = "K-2"
			}
		}, "The serial number went from K-1 to K-2 at 09:35:00: only what was read since counts"},
		"another ratio": {func(i int, r *reading.Reading) {
			if r.CTPrimary = reading.Known(200.0); i > 4 {
				r.CTPrimary = reading.Known(400.0)
			}
		}, "The CT primary that is set in the meter went from 200 A to 400 A at 09:35:00: only what was read since counts"},
		"not always read": {func(i int, r *reading.Reading) {
			if i%2 == 0 {
				r.Serial, r.CTPrimary = "K-1", reading.Known(200.0)
			}
		}, ""},
	} {
		all := changing("120/208Y", 3, func(i int, r *reading.Reading) {
			one.change(i, r)
			if i <= 4 && one.note != "" {
				va := r.Channels[0].Voltage.Or(0) * r.Channels[0].Current.Or(0)
				r.Channels[0].Power, r.Channels[0].Reactive = reading.Known(-0.98*va), reading.Known(-0.2*va)
			}
		})
		r := diagnose.Diagnose(all[:5], diagnose.Options{Tables: tables})
		r2 := diagnose.Diagnose(all, diagnose.Options{Tables: tables})
		require.Equal(t, diagnose.Agrees, r2.Verdict, "%s: %s", name, r2.Summary)
		if one.note == "" {
			require.Empty(t, r2.Notes, name)
			require.Equal(t, diagnose.Diagnose(changing("120/208Y", 3, func(int, *reading.Reading) {}), diagnose.Options{Tables: tables}).Steps, r2.Steps, name)
			continue
		}
		require.Equal(t, diagnose.Fault, r.Verdict, name)
		require.Equal(t, []string{one.note}, r2.Notes, name)
		since := diagnose.Diagnose(all[5:], diagnose.Options{Tables: tables})
		require.Equal(t, since.Steps, r2.Steps, name)
		require.Equal(t, since.Explanations[0].Probability, r2.Explanations[0].Probability, name)
	}
}
