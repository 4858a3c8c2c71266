package sim

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

var morning = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

func open(t testing.TB, name string, o Options) *Place {
	p, err := Open(name, o)
	require.NoError(t, err)
	return p
}

func TestPlacesThatThereAre(t *testing.T) {
	require.Equal(t, []string{"boathouse-flat", "cottage-bakery", "dye-works", "kiln-house", "saw-shed"}, Names())
	for name, says := range map[string]string{
		"kilnhouse":      `there is no place "kilnhouse"; did you mean kiln-house?`,
		"":               `there is no place ""; there are boathouse-flat, cottage-bakery, dye-works, kiln-house, saw-shed`,
		"kiln-house.map": `there is no place "kiln-house.map"; did you mean kiln-house?`,
		"../open":        `there is no place "../open"; there are `,
	} {
		_, err := Open(name, Options{})
		require.ErrorContains(t, err, says)
	}
	_, err := Open("cottage-bakery", Options{Fault: "cts-rolled"})
	require.ErrorContains(t, err, "a roll needs three CTs")
}

// With the usual seed every leg carries more than 1 A at the start, with power
// towards the loads: a sound place reads soundly.
func TestPlacesBeginLoaded(t *testing.T) {
	for _, name := range Names() {
		p := open(t, name, Options{})
		r := p.At(morning)
		require.Equal(t, p.Service(), r.Service)
		require.Equal(t, morning, r.At)
		for k, c := range r.Channels {
			require.Greater(t, c.Current.Or(0), 1.5, "%s channel %d", name, k+1)
			require.Positive(t, c.Power.Or(0), "%s channel %d", name, k+1)
			require.Less(t, c.Current.Or(0), r.CTPrimary.Or(0), "%s channel %d", name, k+1)
		}
	}
}

func TestPlacesRepeatAndSeedsDiffer(t *testing.T) {
	for _, name := range Names() {
		a, b, other := open(t, name, Options{Start: morning}), open(t, name, Options{Start: morning}), open(t, name, Options{Start: morning, Seed: 5})
		later := morning.Add(73 * time.Second)
		a.Advance(morning.Add(20 * time.Second))
		ra, rb := a.At(later), b.At(later)
		require.InDelta(t, ra.TotalEnergyImport.Or(0), rb.TotalEnergyImport.Or(1), 0.01*rb.TotalEnergyImport.Or(1), "another way there")
		require.Equal(t, ra.Channels[0].Power, rb.Channels[0].Power)
		require.NotEqual(t, rb.Channels[0].Power, other.At(later).Channels[0].Power)
	}
}

// Loads come and go: over ten minutes each place has several states.
func TestPlacesChange(t *testing.T) {
	for _, name := range Names() {
		p := open(t, name, Options{})
		low, high := 1e9, 0.0
		for s := range 600 {
			w := p.At(morning.Add(time.Duration(s) * time.Second)).TotalPower.Or(0)
			low, high = min(low, w), max(high, w)
		}
		require.Greater(t, high, 1.15*low, name)
	}
}

// Energy is power times time, on the channel and with the sign that it has.
func TestEnergyAccumulates(t *testing.T) {
	p := open(t, "kiln-house", Options{Fault: "ct1-reversed"})
	p.At(morning)
	sum := 0.0
	for s := range 600 {
		sum += p.At(morning.Add(time.Duration(s)*time.Second + 500*time.Millisecond)).Channels[1].Power.Or(0) / 3600
	}
	r := p.At(morning.Add(600 * time.Second))
	require.InDelta(t, sum, r.Channels[1].EnergyImport.Or(0), 0.02*sum)
	require.Zero(t, r.Channels[1].EnergyExport.Or(-1))
	require.Zero(t, r.Channels[0].EnergyImport.Or(-1))
	require.Greater(t, r.Channels[0].EnergyExport.Or(0), 1000.0)
	require.InDelta(t, r.TotalEnergyImport.Or(0), r.Channels[1].EnergyImport.Or(0)+r.Channels[2].EnergyImport.Or(0), 1e-9)
	require.Greater(t, r.TotalApparentEnergy.Or(0), r.TotalEnergyImport.Or(0))

	back := p.At(morning)
	require.Equal(t, r.TotalEnergyImport, back.TotalEnergyImport, "a clock that goes back takes nothing off")
}

// A place begins with the first time that it is handed, with nothing registered.
func TestAPlaceBeginsWhenItIsAsked(t *testing.T) {
	asked, set := open(t, "kiln-house", Options{}), open(t, "kiln-house", Options{Start: morning})
	require.Equal(t, set.At(morning), asked.At(morning))
	require.Equal(t, 0.0, asked.At(morning).TotalApparentEnergy.Or(1))
}

// Another seed makes every load another size, within a tenth and its wander.
func TestSeedsChangeSizes(t *testing.T) {
	p := open(t, "saw-shed", Options{Seed: 3})
	for i, l := range p.scenario.Loads {
		require.NotEqual(t, l.VA, p.sizes[i], l.Name)
		require.InDelta(t, l.VA, p.sizes[i], 0.1*l.VA, l.Name)
	}
	require.Equal(t, p.scenario.Loads[0].VA, open(t, "saw-shed", Options{}).sizes[0])
}

// A year passes in bounded time.
func TestLongJump(t *testing.T) {
	require.Equal(t, 1, stepsOver(0.2))
	require.Equal(t, 90, stepsOver(89.5))
	require.Equal(t, 3600, stepsOver(365*86400))
	p := open(t, "dye-works", Options{Start: morning})
	r := p.At(morning.AddDate(1, 0, 0))
	require.Greater(t, r.TotalEnergyImport.Or(0), 20e3*8760*0.5)
}

func TestWiringChangesWhileItRuns(t *testing.T) {
	p := open(t, "kiln-house", Options{})
	require.Positive(t, p.At(morning).Channels[0].Power.Or(0))
	require.NoError(t, p.SetFault("ct1-reversed,v3-dead"))
	r := p.At(morning.Add(time.Second))
	require.Negative(t, r.Channels[0].Power.Or(0))
	require.Zero(t, r.Channels[2].Voltage.Or(1))
	require.True(t, p.Truth().Turned[0])

	require.ErrorContains(t, p.SetFault("ct4-reversed"), "did you mean")
	require.True(t, p.Truth().Turned[0], "a list that is wrong changes nothing")
	require.NoError(t, p.SetFault(""))
	require.Positive(t, p.At(morning.Add(2 * time.Second)).Channels[0].Power.Or(0))
}

// The saw shed's motors lag by 30 to 60 degrees, alike on every leg: with CTs 2
// and 3 crossed and 2 reversed too, every channel reads positive all the time.
func TestSawShedHidesAFault(t *testing.T) {
	p := open(t, "saw-shed", Options{})
	for s := range 400 {
		for _, c := range p.At(morning.Add(time.Duration(s) * time.Second)).Channels {
			require.InDelta(t, 45, float64(c.Angle.Or(0)), 13)
		}
	}
	require.NoError(t, p.SetFault("ct2-ct3-crossed,ct2-reversed"))
	for s := 400; s < 800; s++ {
		for _, c := range p.At(morning.Add(time.Duration(s) * time.Second)).Channels {
			require.Positive(t, c.Power.Or(0))
		}
	}
}

// A meter that averages shows part of a load that has just come on.
func TestAveraging(t *testing.T) {
	c, err := ParseScenario("s.yaml", []byte(`legwork-place: 1
service: "120"
meter: {average: 8}
loads:
  - {kind: heat, across: A-N, va: 1200, lag: 0, cycle: {every: 100, on: 0.5, from: 90}}
`))
	require.NoError(t, err)
	p, err := newPlace("", c, Options{Start: morning})
	require.NoError(t, err)
	for _, x := range []struct{ after, want, near float64 }{{9, 0, 0}, {12, 3. / 8 * 1200, 10}, {30, 1200, 20}} {
		r := p.At(morning.Add(time.Duration(x.after * float64(time.Second))))
		require.InDelta(t, x.want, r.Channels[0].Power.Or(-1), x.near, "%g s", x.after)
	}
}

// bank keeps registers as a meter's memory would.
type bank map[regmap.Table]map[uint16]uint16

func (b bank) SetWords(t regmap.Table, address uint16, words []uint16) {
	if b[t] == nil {
		b[t] = map[uint16]uint16{}
	}
	for i, w := range words {
		b[t][address+uint16(i)] = w
	}
}

// A place's own map reads its registers back, to half a step, with all that the
// map speaks of known.
func TestRegistersReadBack(t *testing.T) {
	later := morning.Add(time.Hour)
	for _, name := range Names() {
		p := open(t, name, Options{Fault: "ct1-reversed"})
		file, src := p.Map()
		m, err := regmap.Parse(file, src)
		require.NoError(t, err)
		registers := bank{}
		p.At(morning)
		p.Fill(later, registers)
		want := p.At(morning.Add(10 * time.Second))

		var blocks []regmap.Block
		for _, r := range m.Plan(regmap.Limits{}) {
			b := regmap.Block{Request: r}
			for i := range r.Count {
				b.Words = append(b.Words, registers[r.Table][r.Address+i])
			}
			blocks = append(blocks, b)
		}
		var got reading.Reading
		m.Decode(blocks, &got)
		for _, point := range m.Points() {
			if point.Quantity.IsText() {
				require.Equal(t, want.Text(point.Point), got.Text(point.Point), "%s %s", name, point.Point)
				continue
			}
			w, known := want.Number(point.Point).Get()
			require.True(t, known, "%s %s", name, point.Point)
			require.InDelta(t, w, got.Number(point.Point).Or(1e9), 0.1+0.002*max(w, -w), "%s %s", name, point.Point)
		}
	}
}

// The maps differ so that every part of the format is met.
func TestKilnHouseGivesEverything(t *testing.T) {
	_, src := open(t, "kiln-house", Options{}).Map()
	m, err := regmap.Parse("kiln-house.map.yaml", src)
	require.NoError(t, err)
	require.Len(t, m.Points(), len(reading.Points()))
}

// What makes poor contact comes and goes, and what it costs isn't in the energy.
func TestALooseInputComesAndGoes(t *testing.T) {
	energy := map[string]float64{}
	for _, fault := range []string{"", "v2-loose"} {
		p := open(t, "kiln-house", Options{Fault: fault, Start: morning})
		dead := 0
		for i := range 100 {
			r := p.At(morning.Add(time.Duration(i) * time.Second))
			require.Greater(t, r.Channels[0].Voltage.Or(0), 100.0)
			if r.Channels[1].Voltage.Or(-1) < 1 {
				dead++
			}
			energy[fault] = r.Channels[1].EnergyImport.Or(0)
		}
		require.Equal(t, map[string]int{"": 0, "v2-loose": 30}[fault], dead)
	}
	require.InDelta(t, 0.7, energy["v2-loose"]/energy[""], 0.02)
}
