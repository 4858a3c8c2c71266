package diagnose_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// changing are ten readings of a rightly wired panel whose loads change, with what
// happens to some of them.
func changing(service string, legs int, spoil func(i int, r *reading.Reading)) []reading.Reading {
	var all []reading.Reading
	amps := []float64{6, 9, 7}
	for i := range 10 {
		r := reading.Reading{At: time.Date(2026, 5, 4, 9, 30+i, 0, 0, time.UTC), Service: service}
		for k := range legs {
			r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(120 + 0.2*float64(k)), Current: reading.Known(amps[k])})
		}
		spoil(i, &r)
		for k := range r.Channels {
			c := &r.Channels[k]
			va := c.Voltage.Or(0) * c.Current.Or(0)
			if !c.Power.Known() {
				c.Power, c.Reactive = reading.Known(0.98*va), reading.Known(0.2*va)
			}
		}
		all = append(all, r)
		amps[i%legs] += 4
	}
	return all
}

func inSome(of []int, spoil func(r *reading.Reading)) func(i int, r *reading.Reading) {
	return func(i int, r *reading.Reading) {
		for _, at := range of {
			if i == at {
				spoil(r)
			}
		}
	}
}

func volts(r *reading.Reading, all ...float64) {
	for k, v := range all {
		c := &r.Channels[k]
		c.Current = reading.Known(c.Current.Or(0) * v / 120)
		c.Voltage = reading.Known(v)
	}
}

// The voltages of a verdict are those of the last reading; an input that read another one
// before, while the others held, isn't sound because it reads well just then.
func TestAnInputThatComesAndGoesIsTold(t *testing.T) {
	for name, one := range map[string]struct {
		spoil func(r *reading.Reading)
		said  string
	}{
		"dead": {func(r *reading.Reading) { r.Channels[1].Voltage = reading.Known(0.0) }, "Voltage input 2 read 0.0 V in 3 of 10 readings, the last at 09:36:00, and reads 120.2 V now"},
		"dead with its current": {func(r *reading.Reading) {
			r.Channels[1] = reading.Channel{Voltage: reading.Known(0.0), Current: reading.Known(0.0)}
		},
			"Voltage input 2 read 0.0 V in 3 of 10"},
		"low":      {func(r *reading.Reading) { r.Channels[1].Voltage = reading.Known(81.0) }, "Voltage input 2 read 81.0 V in 3 of 10"},
		"too high": {func(r *reading.Reading) { r.Channels[1].Voltage = reading.Known(240.4) }, "Voltage input 2 read 240.4 V in 3 of 10"},
	} {
		for _, service := range []string{"120/208Y", "120/240"} {
			legs := 2
			if service == "120/208Y" {
				legs = 3
			}
			for _, of := range [][]int{{3, 4, 6}, {0, 1, 6}} {
				r := diagnose.Diagnose(changing(service, legs, inSome(of, one.spoil)), diagnose.Options{Tables: tables})
				require.Equal(t, diagnose.Undecided, r.Verdict, "%s, %s, %v: %s", name, service, of, r.Summary)
				require.Contains(t, r.Summary, one.said, "%s, %s", name, service)
				require.Equal(t, "contact", r.NextTests[0].Test)
				require.Equal(t, 2, *r.NextTests[0].Channel)
				require.Equal(t, diagnose.StateUnclear, r.Channels[1].State)
				for _, x := range r.Explanations {
					require.Empty(t, x.Moves)
				}
			}
		}
	}
}

// What goes with all inputs at once is the supply, and a change of the loads is none of the
// inputs': neither is told of.
func TestSupplyAndLoadsAreNoPoorContact(t *testing.T) {
	for name, spoil := range map[string]func(i int, r *reading.Reading){
		"steady":            func(int, *reading.Reading) {},
		"interrupted":       inSome([]int{3, 4, 6}, func(r *reading.Reading) { volts(r, 0, 0, 0) }),
		"off at first":      inSome([]int{0, 1, 2}, func(r *reading.Reading) { volts(r, 0, 0, 0) }),
		"sagging":           inSome([]int{3, 4, 6}, func(r *reading.Reading) { volts(r, 88, 89, 88) }),
		"not read at first": inSome([]int{0, 1, 2}, func(r *reading.Reading) { r.Channels[1].Voltage = reading.Value{} }),
		"a leg sags":        inSome([]int{3, 4, 6}, func(r *reading.Reading) { r.Channels[1].Voltage = reading.Known(106.0) }),
	} {
		r := diagnose.Diagnose(changing("120/208Y", 3, spoil), diagnose.Options{Tables: tables})
		require.Equal(t, diagnose.Agrees, r.Verdict, "%s: %s", name, r.Summary)
		require.Empty(t, r.Notes, name)
	}
}

// An input that the service has no use for floats at any voltage.
func TestAnInputThatIsNotUsedMayFloat(t *testing.T) {
	r := diagnose.Diagnose(changing("120/240", 2, func(i int, r *reading.Reading) {
		r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(3.0 + 7*float64(i%4)), Current: reading.Known(0.0)})
	}), diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Agrees, r.Verdict, r.Summary)
	require.Empty(t, r.Notes)
	r = diagnose.Diagnose(changing("120/208Y", 3, func(i int, r *reading.Reading) {
		r.Channels[2].Voltage = reading.Known(3.0 + 7*float64(i%2))
	}), diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Fault, r.Verdict, r.Summary)
	require.Contains(t, r.Summary, "oltage input 3 is dead")
	require.Empty(t, r.Notes, "a dead one does too")
}

// A fault stays one, and the input is told of beside it.
func TestAnInputThatComesAndGoesBesideAFault(t *testing.T) {
	r := diagnose.Diagnose(changing("120/208Y", 3, func(i int, r *reading.Reading) {
		if i == 3 || i == 5 {
			r.Channels[1].Voltage = reading.Known(0.0)
		}
		va := r.Channels[0].Voltage.Or(0) * r.Channels[0].Current.Or(0)
		r.Channels[0].Power, r.Channels[0].Reactive = reading.Known(-0.98*va), reading.Known(-0.2*va)
	}), diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Fault, r.Verdict)
	require.Contains(t, r.Summary, "CT 1 is reversed")
	require.Contains(t, r.Notes, "Voltage input 2 read 0.0 V in 2 of 10 readings, the last at 09:35:00, and reads 120.2 V now")
}

// A neutral of the service that comes loose now and then is a danger when the last reading
// shows nothing of it, however often it did.
func TestANeutralThatComesAndGoesIsADanger(t *testing.T) {
	for _, one := range []struct {
		service string
		apart   []float64
	}{{"120/208Y", []float64{150, 92, 125}}, {"120/240", []float64{152, 88}}, {"120/208Y", []float64{136, 104, 122}}} {
		for _, of := range [][]int{{3, 5}, {3, 4, 6, 8}, {1, 3, 5, 7}, {0, 2, 4, 6, 8}} {
			r := diagnose.Diagnose(changing(one.service, len(one.apart), inSome(of, func(r *reading.Reading) { volts(r, one.apart...) })),
				diagnose.Options{Tables: tables})
			require.True(t, r.KeepAway, "%v in %v: %s", one.apart, of, r.Summary)
			require.Equal(t, diagnose.Fault, r.Verdict)
			require.Regexp(t, `^The neutral of the service may be lost \((over 99\.9|99\.\d) %\): the legs stood apart, at `, r.Summary)
			require.Contains(t, r.Summary, "120.2 V", "now")
		}
	}
}

// With no voltage on any input nothing is judged, and no service is made of it.
func TestNoSupplyIsSaidAsThat(t *testing.T) {
	none := func(_ int, r *reading.Reading) {
		for k := range r.Channels {
			r.Channels[k].Voltage, r.Channels[k].Current = reading.Known(0.0), reading.Known(0.0)
		}
	}
	for name, all := range map[string][]reading.Reading{
		"never":           changing("120/208Y", 3, none),
		"undeclared":      changing("", 3, none),
		"no longer":       changing("120/208Y", 3, inSome([]int{9}, func(r *reading.Reading) { none(9, r) })),
		"induced on them": changing("120/240", 2, func(i int, r *reading.Reading) { none(i, r); r.Channels[0].Voltage = reading.Known(4.0) }),
	} {
		r := diagnose.Diagnose(all, diagnose.Options{Tables: tables})
		require.Equal(t, diagnose.Undecided, r.Verdict, name)
		require.Contains(t, r.Summary, "No input reads any voltage, and no current flows", name)
		require.Equal(t, "supply", r.NextTests[0].Test, name)
		require.Len(t, r.Channels, len(all[0].Channels), name)
		for _, c := range r.Cautions {
			require.NotContains(t, c, "may be open", name)
		}
	}
	flowing := changing("120/208Y", 3, func(_ int, r *reading.Reading) {
		for k := range r.Channels {
			r.Channels[k].Voltage = reading.Known(0.0)
		}
	})
	r := diagnose.Diagnose(flowing, diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Fault, r.Verdict)
	require.Contains(t, r.Summary, "No input reads any voltage while current flows: the reference breaker")
}

// Readings that can't be, before the last: one is left out and noted, many hold the verdict
// back.
func TestReadingsThatCannotBeBeforeTheLastAreTold(t *testing.T) {
	tenfold := func(r *reading.Reading) {
		va := r.Channels[1].Voltage.Or(0) * r.Channels[1].Current.Or(0)
		r.Channels[1].Power, r.Channels[1].Reactive = reading.Known(9.8*va), reading.Known(2*va)
	}
	r := diagnose.Diagnose(changing("120/208Y", 3, inSome([]int{4}, tenfold)), diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Agrees, r.Verdict)
	require.Len(t, r.Notes, 1)
	require.Contains(t, r.Notes[0], "In 1 of 10 readings power.2 can't be (the last: ")
	r = diagnose.Diagnose(changing("120/208Y", 3, inSome([]int{2, 4, 5}, tenfold)), diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Undecided, r.Verdict)
	require.Contains(t, r.Summary, "In 3 of 10 readings power.2 can't be")
	require.Contains(t, r.NextTests[0].Ask, "multiply its scale by 0.1")
}

// A current that falls to nothing and comes back is ordinary or a poor contact: it is told,
// and no verdict.
func TestACurrentThatComesAndGoesIsNoted(t *testing.T) {
	off := func(r *reading.Reading) { r.Channels[1].Current = reading.Known(0.0) }
	r := diagnose.Diagnose(changing("120/208Y", 3, inSome([]int{3, 6, 7}, off)), diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Agrees, r.Verdict)
	require.Len(t, r.Notes, 1)
	require.Contains(t, r.Notes[0], "Channel 2 fell to 0 A and came back, twice, while the others carried on")
	all := func(r *reading.Reading) {
		for k := range r.Channels {
			r.Channels[k].Current = reading.Known(0.0)
		}
	}
	r = diagnose.Diagnose(changing("120/208Y", 3, inSome([]int{3, 6, 7}, all)), diagnose.Options{Tables: tables})
	require.Empty(t, r.Notes)
}
